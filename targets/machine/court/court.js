"use strict";
// The court page. It can stop, pause and mark; it has no message that starts, goes on, skips or chooses a ball.
// Marks are numbered and kept in the phone until the program beside the machine says that they are done.

const BEAT_MS = 250; // how often the page says that it is there
const LATE_MS = 1000; // older news than this is no link
const GIVE_UP_MS = 900;
const AGAIN_MS = 100; // a stop is said again until the replay shows that it stops
const $ = (id) => document.getElementById(id);

// ---- what outlives a reload; read afresh each time, because two pages may be open in one phone

const memory = {};
function kept(key, otherwise) {
  try {
    const text = localStorage.getItem("court-" + key);
    return text === null ? otherwise : JSON.parse(text);
  } catch {
    return key in memory ? memory[key] : otherwise;
  }
}
function keep(key, value) {
  memory[key] = value;
  try {
    localStorage.setItem("court-" + key, JSON.stringify(value));
  } catch {} // a private window may refuse; then it holds until the reload
}

let heardAt = -Infinity; // when the newest exchange that was answered was sent
let shown = null; // the newest state
let me = null; // what became of this phone's asks
let nextAt = 0; // when the next ball leaves, on this page's clock
let busy = false, wanted = false, stopping = false, joined = false, over = false;

// ---- messages

async function post(path, body, withinMs) {
  const giveUp = new AbortController();
  const timer = setTimeout(() => giveUp.abort(), withinMs);
  try {
    const answer = await fetch(path, {
      method: "POST", body: JSON.stringify(body), signal: giveUp.signal, cache: "no-store",
      headers: { "X-Phone": kept("token", "") },
    });
    return [answer.status, await answer.json()];
  } finally {
    clearTimeout(timer);
  }
}

async function exchange() {
  if (!joined || over) return;
  if (busy) {
    wanted = true;
    return;
  }
  busy = true;
  const sentAt = performance.now();
  try {
    const [status, told] = await post("/exchange", { asks: kept("asks", []).slice(0, 32) }, GIVE_UP_MS);
    if (status === 200) take(told, sentAt);
    if (status === 403) leave(told.why);
  } catch {
    // no link; the next beat tries again
  } finally {
    busy = false;
    if (wanted) {
      wanted = false;
      setTimeout(exchange, 0);
    }
  }
}

function take(told, sentAt) {
  if (!told.phone) return; // just joined, and not noted yet
  heardAt = sentAt;
  me = told.phone;
  const left = kept("asks", []).filter((ask) => ask.number > me.done);
  keep("asks", left);
  keep("number", Math.max(kept("number", 0), me.done));
  const before = shown;
  shown = told.state;
  if (shown.next) nextAt = sentAt + (shown.next.in_s - told.age) * 1000;
  if (stopping && (shown.phase === "stopping" || shown.over)) stopping = false;
  over = shown.over && shown.afterwards.length > 0;
  draw();
  hear(before, shown);
  if (left.length) setTimeout(exchange, 60);
}

function ask(what) {
  const mark = what === "hit" || what === "miss";
  if (mark && !(shown && shown.last)) return;
  const number = kept("number", 0) + 1;
  const one = mark ? { number, ask: what, ball: shown.last.place } : { number, ask: what };
  keep("number", number);
  keep("asks", [...kept("asks", []), one]);
  $("became").textContent = what + " …";
  exchange();
}

async function stop() {
  if (stopping || over) return;
  stopping = true;
  $("became").textContent = "STOP is being sent …";
  while (stopping && joined) {
    post("/stop", {}, GIVE_UP_MS).then(exchange, () => {});
    await new Promise((after) => setTimeout(after, AGAIN_MS));
  }
}

// ---- joining

async function join(event) {
  event.preventDefault();
  const token = kept("joining", "") || Array.from(crypto.getRandomValues(new Uint8Array(16)),
    (byte) => byte.toString(16).padStart(2, "0")).join("");
  keep("joining", token); // the answer may be lost: the same phone asks again with the same token
  const name = $("name").value.trim();
  keep("name", name);
  try {
    const [status, told] = await post("/join", { word: $("word").value.trim().toLowerCase(), token, name }, 3000);
    if (status !== 200) {
      $("refused").textContent = told.why || "This was not understood.";
      return;
    }
    keep("token", token);
    keep("joining", "");
    keep("asks", []);
    keep("number", 0);
    keep("watches", told.watches);
    history.replaceState(null, "", "/");
    enter();
  } catch {
    $("refused").textContent = "No answer. Try again.";
  }
}

function enter() {
  joined = true;
  over = stopping = false;
  heardAt = performance.now();
  $("join").hidden = true;
  $("court").hidden = false;
  $("asks").hidden = kept("watches", false);
  if (navigator.wakeLock) navigator.wakeLock.request("screen").catch(() => {}); // only over TLS
  draw();
  exchange();
}

function leave(why) {
  joined = stopping = false;
  keep("token", "");
  $("court").hidden = true;
  $("join").hidden = false;
  $("refused").textContent = why || "";
}

// ---- what is seen

function text(id, words) {
  if ($(id).textContent !== words) $(id).textContent = words;
}

function draw() {
  const late = joined && !over && performance.now() - heardAt > LATE_MS;
  text("link", late ? "No link: use the switch" : "");
  document.body.classList.toggle("alarm", Boolean(shown && shown.alarm));
  if (!shown) return;
  const { next, last, streak } = shown;
  text("headline", shown.headline);
  text("title", shown.title);
  text("giant", shown.giant.join(" ") || (next ? next.name : ""));
  const seconds = Math.max(0, Math.ceil((nextAt - performance.now()) / 1000));
  text("seconds", next && !late ? String(seconds) : "");
  text("lines", next ? next.lines.join(" · ") : "");
  text("why", shown.why);
  text("counts", `${shown.thrown} thrown · ${shown.hits} hit · ${shown.misses} missed`);
  text("streak", streak ? `${streak.of}: ${streak.now} in a row, best ${streak.best}` +
    (streak.goal ? `, goal ${streak.goal}` : "") : "");
  text("meant", last ? `marks ball ${last.number}, ${last.name}` + (last.verdict ? `: now a ${last.verdict}` : "") : "");
  $("hit").disabled = $("miss").disabled = !last || shown.over;
  $("pause").disabled = !shown.live;
  $("undo").disabled = !(me && me.undo) && !kept("asks", []).length;
  if (me && me.became.length && !stopping && !kept("asks", []).length) text("became", me.became[me.became.length - 1][1]);
  if ($("afterwards").childElementCount !== shown.afterwards.length) {
    $("afterwards").replaceChildren(...shown.afterwards.map((line) => {
      const item = document.createElement("li");
      item.textContent = line;
      return item;
    }));
  }
}

// ---- what is heard and felt

let audio = null;
function tone(hertz, afterS, lastsS) {
  if (!audio || kept("sound", "none") === "none") return;
  const swing = audio.createOscillator(), level = audio.createGain(), at = audio.currentTime + afterS;
  swing.frequency.value = hertz;
  level.gain.setValueAtTime(0.25, at);
  level.gain.exponentialRampToValueAtTime(0.001, at + lastsS);
  swing.connect(level).connect(audio.destination);
  swing.start(at);
  swing.stop(at + lastsS);
}
function shake(pattern) {
  if (kept("shake", false) && navigator.vibrate) navigator.vibrate(pattern);
}
function speak(words) {
  if (kept("sound", "none") !== "voice" || !window.speechSynthesis) return;
  speechSynthesis.cancel();
  speechSynthesis.speak(new SpeechSynthesisUtterance(words));
}

const SIGNALS = { // as the bells beside the machine, see REPLAY.md: how many tones, how far apart
  stop: [8, 0.25, 330], rest: [2, 0.6, 440], time: [2, 0.6, 440], end: [3, 0.6, 440],
};
function hear(before, now) {
  if (now.sound && (!before || before.sound !== now.sound)) {
    const [count, apart, hertz] = SIGNALS[now.sound];
    for (let n = 0; n < count; n += 1) tone(hertz, n * apart, 0.2);
    if (now.sound === "stop") {
      shake([400, 150, 400, 150, 400]);
      speak("Stop");
    }
  }
  if (now.next && (!before || !before.next || before.next.number !== now.next.number)) speak(now.next.name);
}
let counted = Infinity;
function count() {
  const left = shown && shown.next && shown.live ? (nextAt - performance.now()) / 1000 : Infinity;
  for (const second of [3, 2, 1]) if (counted > second && left <= second) tone(660, 0, 0.12);
  if (counted > 0 && left <= 0) {
    tone(990, 0, 0.6);
    shake(150);
  }
  counted = left;
}

// ---- begin

$("join").addEventListener("submit", join);
for (const what of ["hit", "miss", "undo", "pause"]) $(what).addEventListener("click", () => ask(what));
$("stop").addEventListener("pointerdown", stop); // a finger that lands stops; it need not be lifted
$("stop").addEventListener("click", stop); // keyboards and screen readers
$("sound").addEventListener("change", (event) => {
  keep("sound", event.target.value);
  audio = audio || new (window.AudioContext || window.webkitAudioContext)();
  audio.resume();
  tone(660, 0, 0.12);
});
$("shake").addEventListener("change", (event) => keep("shake", event.target.checked));
document.addEventListener("pointerdown", () => { // a browser gives sound only after a touch
  if (!audio && kept("sound", "none") !== "none") audio = new (window.AudioContext || window.webkitAudioContext)();
});
$("sound").value = kept("sound", "none");
$("shake").checked = kept("shake", false);
$("name").value = kept("name", "");
$("word").value = location.hash.slice(1);
setInterval(exchange, BEAT_MS);
setInterval(() => { draw(); count(); }, 100);
if (kept("token", "") && !location.hash) enter();
else $("join").hidden = false;

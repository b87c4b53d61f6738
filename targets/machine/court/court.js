"use strict";
// The court page. It can stop, pause and mark; it has no message that starts, goes on, skips or chooses a ball.
// Marks are numbered and kept in the phone until the program beside the machine says that they are done.

const LATE_MS = 1000; // older news than this is no link
const AGAIN_MS = 100; // a stop is said again until the replay shows that it stops

let heardAt = -Infinity; // when the newest exchange that was answered was sent
let shown = null; // the newest state
let me = null; // what became of this phone's asks
let nextAt = 0; // when the next ball leaves, on this page's clock
let stopping = false;
let saidOf = 0; // the ask of which the page says what became

// ---- messages

function take(told, sentAt) {
  heardAt = sentAt;
  me = told.phone;
  const left = kept("asks", []).filter((ask) => ask.number > me.done);
  keep("asks", left);
  keep("number", Math.max(kept("number", 0), me.done));
  const before = shown;
  count(Boolean(before && before.next && told.state.next && told.state.next.number !== before.next.number));
  shown = told.state;
  if (shown.next) nextAt = sentAt + (shown.next.in_s - told.age) * 1000;
  if (stopping && (shown.phase === "stopping" || shown.over)) {
    stopping = false;
    text("became", "STOP was heard");
  }
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

function enters() {
  stopping = false;
  heardAt = performance.now();
  shown = me = null;
  saidOf = 0;
  $("court").hidden = false;
  $("asks").hidden = kept("watches", false);
  stayOn();
  draw();
}

function leaves() {
  stopping = false;
  $("court").hidden = true;
}

// The system takes the lock back whenever the page is out of sight.
function stayOn() {
  if (joined && document.visibilityState === "visible" && navigator.wakeLock) { // only over TLS
    navigator.wakeLock.request("screen").catch(() => {});
  }
}

// ---- what is seen

function text(id, words) {
  if ($(id).textContent !== words) $(id).textContent = words;
}

function late() {
  return joined && !over && performance.now() - heardAt > LATE_MS;
}

function draw() {
  text("link", late() ? "No link: use the switch" : "");
  document.body.classList.toggle("alarm", Boolean(shown && shown.alarm));
  if (!shown) return;
  const { next, last, streak } = shown;
  text("headline", shown.headline);
  text("title", shown.title);
  text("giant", shown.giant.join(" ") || (next ? next.name : ""));
  const seconds = Math.max(0, Math.ceil((nextAt - performance.now()) / 1000));
  text("seconds", next && !late() ? String(seconds) : "");
  text("lines", next ? next.lines.join(" · ") : "");
  text("why", shown.why);
  text("counts", `${shown.thrown} thrown · ${shown.hits} hit · ${shown.misses} missed`);
  const among = streak && streak.among ? `of the last ${streak.among}` : "in a row";
  text("streak", streak ? `${streak.of}: ${streak.now} ${among}, best ${streak.best}` +
    (streak.goal ? `, goal ${streak.goal}` : "") : "");
  text("meant", last ? `marks ball ${last.number}, ${last.name}` + (last.verdict ? `: now a ${last.verdict}` : "") : "");
  $("hit").disabled = $("miss").disabled = !last || shown.over;
  $("pause").disabled = !shown.live;
  $("undo").disabled = shown.over || !(me && me.undo) && !kept("asks", []).length;
  const [number, became] = (me && me.became[me.became.length - 1]) || [saidOf, ""];
  if (number !== saidOf && !stopping && !kept("asks", []).length) {
    saidOf = number;
    text("became", became);
  }
  $("asks").hidden = over || kept("watches", false); // a STOP that reaches nobody any more would promise too much
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
const SOON_S = 0.3;
let counted = Infinity, countedOf = 0; // seconds to the next ball when it was last looked at, and which ball that is
function count(gone = false) { // whether news say that the ball has left, perhaps a moment before this clock does
  const counts = shown && shown.next && shown.live && !late(); // old news give no countdown
  let left = !counts ? Infinity : gone && counted < SOON_S ? 0 : (nextAt - performance.now()) / 1000;
  // Each answer says anew when the ball leaves, a little earlier or later: no second is heard twice for that.
  if (counts && shown.next.number === countedOf && left < counted + 1) left = Math.min(left, counted);
  countedOf = counts ? shown.next.number : 0;
  if (counted < Infinity) for (const second of [3, 2, 1]) if (counted > second && left <= second) tone(660, 0, 0.12);
  if (counted < Infinity && counted > 0 && left <= 0) {
    tone(990, 0, 0.6);
    shake(150);
  }
  counted = left;
}

// ---- begin

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
setInterval(() => { draw(); count(); }, 100);
document.addEventListener("visibilitychange", stayOn);
begin({
  says: () => ({ asks: kept("asks", []).slice(0, 32) }),
  hears: take,
  afresh: () => { keep("asks", []); keep("number", 0); },
  enters, leaves,
});

"use strict";
// What a page here says to the program that serves it: it joins with a one-time word, and then exchanges messages. A page
// numbers its asks from 1, keeps them, and sends them until the program says that they are done.

const BEAT_MS = 250; // how often the page says that it is there
const GIVE_UP_MS = 900;
const WORD = /^#[a-z0-9]{12}$/;
const $ = (id) => document.getElementById(id);

// ---- what outlives a reload; read afresh each time, because two pages may be open in one phone

const memory = {};
function kept(key, otherwise) {
  if (key in memory) return memory[key];
  try {
    const text = localStorage.getItem("court-" + key);
    return text === null ? otherwise : JSON.parse(text);
  } catch {
    return otherwise;
  }
}
function keep(key, value) {
  try {
    localStorage.setItem("court-" + key, JSON.stringify(value));
    delete memory[key];
  } catch {
    memory[key] = value; // a private window or a full memory may refuse; then it holds until the reload
  }
}

// ---- messages

let page = null; // what the page itself does: see `begin`
let joined = false, over = false, busy = false, wanted = false;

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
  const sentAt = performance.now(), token = kept("token", "");
  try {
    const [status, told] = await post("/exchange", page.says(), GIVE_UP_MS);
    if (joined && token === kept("token", "")) { // an answer to the phone that this page was before is none to this one
      if (status === 200 && told.phone) page.hears(told, sentAt); // without `phone` it has just joined, and is not noted yet
      if (status === 403) leave(told.why);
    }
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

// ---- joining

async function join(event) {
  event.preventDefault();
  const before = kept("joining", "");
  const token = before || Array.from(crypto.getRandomValues(new Uint8Array(16)),
    (byte) => byte.toString(16).padStart(2, "0")).join("");
  keep("joining", token); // the answer may be lost: the same phone asks again with the same token
  const name = $("name").value.trim();
  keep("name", name);
  try {
    const [status, told] = await post("/join", { word: $("word").value.trim().toLowerCase(), token, name }, 3000);
    if (status !== 200) {
      keep("joining", "");
      if (status === 403 && before) return join(event); // an earlier try came in after all; a new word wants a new token
      $("refused").textContent = told.why || "This was not understood.";
      return;
    }
    keep("token", token);
    keep("joining", "");
    keep("watches", told.watches);
    page.afresh();
    history.replaceState(null, "", "/");
    enter();
  } catch {
    $("refused").textContent = "No answer. Try again.";
  }
}

function enter() {
  joined = true;
  over = false;
  $("join").hidden = true;
  page.enters();
  exchange();
}

function leave(why) {
  joined = false;
  keep("token", "");
  $("join").hidden = false;
  $("refused").textContent = why || "";
  page.leaves();
}

// `own` is the page: `says()` gives the next message, `hears(told, sentAt)` takes its answer, `afresh()` forgets what was
// for another program, `enters()` and `leaves()` show and hide it.
function begin(own) {
  page = own;
  $("join").addEventListener("submit", join);
  $("name").value = kept("name", "");
  if (WORD.test(location.hash)) $("word").value = location.hash.slice(1);
  setInterval(exchange, BEAT_MS);
  if (kept("token", "") && !WORD.test(location.hash)) enter();
  else $("join").hidden = false;
}

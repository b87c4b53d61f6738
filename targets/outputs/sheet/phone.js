"use strict";
(() => {
  const { balls, cards, ahead } = JSON.parse(document.getElementById("data").textContent);
  const find = (id) => document.getElementById(id);
  const card = find("card"), part = find("part"), rungs = document.querySelector(".rungs");
  const still = window.matchMedia("(prefers-reduced-motion: reduce)");
  const climbed = cards.map((one) => one.rung ?? 0);
  const SWIPE = 40, TAP = 10;
  let at = 0, down = null, lock = null;

  const lines = (one, letter) => {
    find("lines").replaceChildren(...[...one.lines, ...(balls[letter] ?? [])].map((text) => {
      const item = document.createElement("li");
      item.textContent = text;
      return item;
    }));
  };
  const show = () => {
    const one = cards[at];
    const rung = one.kind === "ladder" ? one.rungs[climbed[at]] : null;
    const letter = rung ? rung[0] : one.big;
    card.className = one.kind;
    find("where").textContent = one.where + (rung ? ": " + rung[1] : "");
    find("big").textContent = letter;
    lines(one, rung || one.kind === "ball" ? letter : "");
    const coming = cards.slice(at + 1, at + 1 + ahead);
    find("then").textContent = one.kind === "ball" && coming.length ? "then " + coming.map((next) => next.big).join(", ") : "";
    rungs.hidden = !rung;
    if (rung) {
      find("easier").disabled = climbed[at] === 0;
      find("harder").disabled = climbed[at] === one.rungs.length - 1;
    }
    find("back").disabled = at === 0;
    find("next").disabled = at === cards.length - 1;
    find("next").textContent = one.kind === "start" ? "Read: go on" : "Next";
    part.value = String(one.part ?? (at ? cards[at - 1].part : 0));
    history.replaceState(null, "", "#" + (at + 1));
  };
  const go = (number) => {
    const to = Math.min(cards.length - 1, Math.max(0, number));
    if (to === at) return;
    at = to;
    show();
    if (!still.matches) card.animate([{ opacity: .2 }, { opacity: 1 }], 150);
    stayOn();
  };
  const climb = (by) => {
    climbed[at] = Math.min(cards[at].rungs.length - 1, Math.max(0, climbed[at] + by));
    show();
  };
  // The screen of a phone goes dark between two balls unless the page asks; not every browser lets it.
  const stayOn = async () => {
    if (lock || !navigator.wakeLock || document.visibilityState !== "visible") return;
    try {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => { lock = null; });
    } catch { lock = null; }
  };

  card.addEventListener("pointerdown", (event) => { down = event.isPrimary ? [event.clientX, event.clientY] : null; });
  card.addEventListener("pointercancel", () => { down = null; });
  card.addEventListener("pointerup", (event) => {
    if (!down || event.button > 0) return;
    const across = event.clientX - down[0], along = event.clientY - down[1];
    down = null;
    if (Math.abs(across) > SWIPE && Math.abs(across) > Math.abs(along)) go(at + (across < 0 ? 1 : -1));
    else if (Math.abs(across) < TAP && Math.abs(along) < TAP) go(at + 1);
  });
  find("next").addEventListener("click", () => go(at + 1));
  find("back").addEventListener("click", () => go(at - 1));
  find("harder").addEventListener("click", () => climb(1));
  find("easier").addEventListener("click", () => climb(-1));
  part.addEventListener("change", () => go(Number(part.value) ? cards.findIndex((one) => one.part === Number(part.value)) : 0));
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.target.closest("select")) return;
    const onward = ["ArrowRight", "PageDown"].includes(event.key) || (event.key === " " && !event.target.closest("button"));
    if (!onward && !["ArrowLeft", "PageUp"].includes(event.key)) return;
    event.preventDefault();
    go(at + (onward ? 1 : -1));
  });
  document.addEventListener("visibilitychange", () => { if (at) stayOn(); });

  find("play").hidden = false;
  at = Math.min(cards.length - 1, Math.max(0, (Number.parseInt(location.hash.slice(1), 10) || 1) - 1));
  show();
})();

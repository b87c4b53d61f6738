"use strict";
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const find = (id) => document.getElementById(id);
  const slider = find("slider"), said = find("said"), name = find("name"), block = find("block"), figures = find("figures");
  const still = window.matchMedia("(prefers-reduced-motion: reduce)");
  const speed = find("speed"), strip = find("strip");
  let chosen = -1, running = 0, waiting = 0, playing = false, held = -1;

  const names = (group, ball) => [group.dataset.ball, ...(group.dataset.also ?? "").split(" ")].includes(String(ball));
  const mark = (ball) => {
    for (const group of document.querySelectorAll("g[data-ball]")) {
      const on = names(group, ball);
      group.classList.toggle("on", on);
      // Over the other balls, so that none covers it; under the labels.
      if (on && group.classList.contains("ball")) [...group.parentNode.querySelectorAll(":scope > g.ball")].at(-1).after(group);
    }
  };
  const tell = (ball) => {
    const one = data.balls[ball];
    name.textContent = one.letter + " " + one.name;
    find("judged").replaceChildren(...find("verdict-" + ball).querySelector("ul").cloneNode(true).children);
    figures.replaceChildren(...one.figures.flatMap(([label, text]) => {
      const term = document.createElement("dt"), value = document.createElement("dd");
      term.textContent = label;
      value.textContent = text;
      return [term, value];
    }));
  };
  const choose = (ball) => {
    chosen = ball;
    stop();
    mark(ball);
    tell(ball);
    compare(ball);
    for (const button of document.querySelectorAll("button[data-ball]"))
      button.setAttribute("aria-pressed", String(Number(button.dataset.ball) === ball));
  };
  const step = (number) => {
    const at = Math.min(data.moments.length - 1, Math.max(0, number));
    const [ball, text, part] = data.moments[at];
    block.value = String(part);
    slider.value = String(at);
    slider.setAttribute("aria-valuetext", text);
    said.textContent = text;
    for (const end of ["x1", "x2"]) find("now").setAttribute(end, 1000 * data.moments[at][3] / (data.lasts || 1));
    history.replaceState(null, "", "#" + (at + 1));
    choose(ball);
  };
  const stop = () => {
    cancelAnimationFrame(running);
    clearTimeout(waiting);
    for (const dot of document.querySelectorAll(".passing")) dot.remove();
    for (const dot of document.querySelectorAll(".flying")) dot.setAttribute("visibility", "hidden");
  };
  const dots = (ball) => {
    const beside = find("beside").querySelector(".flying");
    const own = document.querySelector('svg.court g.ball[data-ball="' + ball + '"]').closest("svg");
    const above = [own, own.querySelector(".whole")].map((view) => {
      const dot = document.createElementNS("http://www.w3.org/2000/svg", "circle");
      const [left, top, factor, at] = view.dataset.scale.split(" ").map(Number);
      dot.setAttribute("class", "flying passing");
      dot.setAttribute("r", view === own ? 1.5 : .8);
      view.append(dot);
      return (x, y) => {
        dot.setAttribute("cx", at + (x - left) * factor);
        dot.setAttribute("cy", (top - y) * factor);
        dot.setAttribute("visibility", view !== own || y > -.5 ? "visible" : "hidden");
      };
    });
    return (x, y, z) => {
      for (const place of above) place(x, y);
      beside.setAttribute("cx", y);
      beside.setAttribute("cy", -data.stretch * z);
      beside.setAttribute("visibility", "visible");
    };
  };
  const fly = (then) => {
    stop();
    const path = data.balls[chosen].path, last = path[path.length - 1][0], show = dots(chosen);
    let t = 0, before = performance.now();
    const frame = (now) => {
      t = still.matches ? last : Math.min(last, t + Number(speed.value) * Math.max(0, now - before) / 1000);
      before = now;
      const next = Math.max(1, path.findIndex((point) => point[0] >= t));
      const [a, b] = [path[next - 1], path[next]], share = Math.max(0, (t - a[0]) / (b[0] - a[0]));
      show(...[1, 2, 3].map((i) => a[i] + share * (b[i] - a[i])));
      if (t < last) running = requestAnimationFrame(frame);
      else if (then) then(last);
    };
    running = requestAnimationFrame(frame);
  };
  const pause = () => {
    playing = false;
    find("on").textContent = "Play on";
    stop();
  };
  const play = () => {
    const at = Number(slider.value);
    step(at);
    playing = true;
    find("on").textContent = "Pause";
    fly((flown) => {
      if (at + 1 >= data.moments.length) return pause();
      const gap = data.moments[at + 1][3] - data.moments[at][3];
      // A rest is passed over: nothing would move.
      const wait = Math.max(.3, Math.min(gap, 10) - flown) * 1000 / Number(speed.value);
      waiting = setTimeout(() => { slider.value = String(at + 1); play(); }, wait);
    });
  };

  const WORDS = [
    [.05, (d) => Math.abs(d).toFixed(2) + " m " + (d > 0 ? "higher" : "lower") + " over the net"],
    [.05, (d) => "lands " + Math.abs(d).toFixed(1) + " m " + (d > 0 ? "farther from" : "nearer to") + " the net"],
    [.05, (d) => "met " + Math.abs(d).toFixed(2) + " m " + (d > 0 ? "higher" : "lower")],
    [.05, (d) => Math.abs(d).toFixed(2) + " s " + (d > 0 ? "later" : "sooner")],
    [1, (d) => Math.abs(d).toFixed(0) + " km/h " + (d > 0 ? "faster" : "slower")],
    [50, (d) => Math.abs(d).toFixed(0) + " rpm " + (d > 0 ? "more" : "less") + " topspin"],
  ];
  const compare = (ball) => {
    for (const group of document.querySelectorAll("g[data-ball]"))
      group.classList.toggle("held", names(group, held));
    if (held < 0 || held === ball) { find("differs").textContent = held < 0 ? "" : "Choose another ball to compare."; return; }
    const [one, other] = [data.balls[held], data.balls[ball]];
    const told = WORDS.flatMap(([least, words], n) => {
      const [a, b] = [one.facts[n], other.facts[n]];
      return a === null || b === null || Math.abs(b - a) < least ? [] : [words(b - a)];
    });
    find("differs").textContent = other.letter + " against " + one.letter + ": " + (told.join(", ") || "no difference to see") + ".";
  };

  // Marking moves a flight before the others, so the drawings listen, not the flights that move under the pointer.
  let pointed = -1;
  const point = (ball) => {
    if (ball === pointed) return;
    pointed = ball;
    mark(ball < 0 ? chosen : ball);
    tell(ball < 0 ? chosen : ball);
  };
  for (const view of document.querySelectorAll("svg.court, #beside")) {
    const under = (event) => Number(event.target.closest("g[data-ball]")?.dataset.ball ?? -1);
    view.addEventListener("click", (event) => { if (under(event) >= 0) pick(under(event)); });
    view.addEventListener("pointermove", (event) => point(under(event)));
    view.addEventListener("pointerleave", () => point(-1));
  }
  const pick = (ball) => {
    choose(ball);
    said.textContent = "";
    history.replaceState(null, "", "#ball-" + encodeURIComponent(data.balls[ball].letter + " " + data.balls[ball].name));
  };
  // Beside the pictures, the one of the ball comes into view; under the side view it would push that away.
  const bring = (ball) => {
    if (!window.matchMedia("(min-width: 64rem)").matches) return;
    document.querySelector('svg.court g.ball[data-ball="' + ball + '"]').closest("svg").scrollIntoView({ block: "nearest" });
  };
  for (const button of document.querySelectorAll("button[data-ball]"))
    button.addEventListener("click", () => {
      pick(Number(button.dataset.ball));
      if (button.closest(".choice")) bring(chosen);
    });
  const go = (number) => { pause(); step(number); };
  slider.addEventListener("input", () => go(Number(slider.value)));
  find("before").addEventListener("click", () => go(Number(slider.value) - 1));
  find("after").addEventListener("click", () => go(Number(slider.value) + 1));
  block.addEventListener("change", () => go(data.moments.findIndex((moment) => moment[2] === Number(block.value))));
  strip.addEventListener("click", (event) => {
    const box = strip.getBoundingClientRect(), at = data.lasts * (event.clientX - box.left) / box.width;
    const later = data.moments.findIndex((moment) => moment[3] >= at);
    go(later < 0 ? data.moments.length - 1 : later);
  });
  find("fly").addEventListener("click", () => { pause(); fly(); });
  find("on").addEventListener("click", () => (playing ? pause() : play()));
  find("hold").addEventListener("click", () => {
    held = held === chosen || held >= 0 ? -1 : chosen;
    find("hold").setAttribute("aria-pressed", String(held >= 0));
    compare(chosen);
  });
  document.addEventListener("keydown", (event) => {
    if (event.target.closest("input, select, textarea") || event.ctrlKey || event.altKey || event.metaKey) return;
    const keys = { ArrowLeft: "before", ArrowRight: "after", f: "fly", p: "on", h: "hold" };
    if (keys[event.key]) { event.preventDefault(); find(keys[event.key]).click(); }
  });
  const kept = location.hash.startsWith("#ball-") ? decodeURIComponent(location.hash.slice(6)) : "";
  const fresh = !location.hash && data.first !== null;
  if (data.moments.length) step(Number(location.hash.slice(1)) - 1 || 0);
  const again = data.balls.findIndex((ball) => ball.letter + " " + ball.name === kept);
  const first = fresh ? data.first : again;
  if (first >= 0) { pick(first); bring(first); }
})();

"use strict";
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const find = (id) => document.getElementById(id);
  const slider = find("slider"), said = find("said"), name = find("name"), block = find("block"), figures = find("figures");
  const still = window.matchMedia("(prefers-reduced-motion: reduce)");
  let chosen = -1, running = 0;

  const mark = (ball) => {
    for (const group of document.querySelectorAll("g[data-ball]")) {
      const on = Number(group.dataset.ball) === ball;
      group.classList.toggle("on", on);
      if (on && group.closest("#beside")) group.parentNode.insertBefore(group, find("beside").querySelector(".flying"));
    }
  };
  const tell = (ball) => {
    const one = data.balls[ball];
    name.textContent = one.letter + " " + one.name;
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
    history.replaceState(null, "", "#" + (at + 1));
    choose(ball);
  };
  const stop = () => {
    cancelAnimationFrame(running);
    for (const dot of document.querySelectorAll(".passing")) dot.remove();
    for (const dot of document.querySelectorAll(".flying")) dot.setAttribute("visibility", "hidden");
  };
  const fly = () => {
    stop();
    const path = data.balls[chosen].path, begun = performance.now(), last = path[path.length - 1][0];
    const beside = find("beside").querySelector(".flying");
    const own = document.querySelector('svg.court g.ball[data-ball="' + chosen + '"]').closest("svg");
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
    const frame = (now) => {
      const t = still.matches ? last : Math.min(last, (now - begun) / 1000);
      const next = Math.max(1, path.findIndex((point) => point[0] >= t));
      const [a, b] = [path[next - 1], path[next]], share = Math.max(0, (t - a[0]) / (b[0] - a[0]));
      const [x, y, z] = [1, 2, 3].map((i) => a[i] + share * (b[i] - a[i]));
      for (const place of above) place(x, y);
      beside.setAttribute("cx", y); beside.setAttribute("cy", -data.stretch * z);
      beside.setAttribute("visibility", "visible");
      if (t < last) running = requestAnimationFrame(frame);
    };
    running = requestAnimationFrame(frame);
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
  for (const button of document.querySelectorAll("button[data-ball]"))
    button.addEventListener("click", () => pick(Number(button.dataset.ball)));
  slider.addEventListener("input", () => step(Number(slider.value)));
  find("before").addEventListener("click", () => step(Number(slider.value) - 1));
  find("after").addEventListener("click", () => step(Number(slider.value) + 1));
  block.addEventListener("change", () => step(data.moments.findIndex((moment) => moment[2] === Number(block.value))));
  find("fly").addEventListener("click", fly);
  const kept = location.hash.startsWith("#ball-") ? decodeURIComponent(location.hash.slice(6)) : "";
  if (data.moments.length) step(Number(location.hash.slice(1)) - 1 || 0);
  const again = data.balls.findIndex((ball) => ball.letter + " " + ball.name === kept);
  if (again >= 0) pick(again);
})();

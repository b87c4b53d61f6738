"use strict";
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const find = (id) => document.getElementById(id);
  const slider = find("slider"), said = find("said"), name = find("name"), block = find("block"), figures = find("figures");
  const still = window.matchMedia("(prefers-reduced-motion: reduce)");
  let chosen = -1, running = 0;

  const mark = (ball) => {
    for (const group of document.querySelectorAll("g.ball")) {
      const on = Number(group.dataset.ball) === ball;
      group.classList.toggle("on", on);
      if (on) group.parentNode.insertBefore(group, group.parentNode.querySelector(".flying"));
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
    for (const dot of document.querySelectorAll(".flying")) dot.setAttribute("visibility", "hidden");
  };
  const fly = () => {
    stop();
    const path = data.balls[chosen].path, begun = performance.now(), last = path[path.length - 1][0];
    const [above, beside] = [find("above"), find("beside")].map((view) => view.querySelector(".flying"));
    const frame = (now) => {
      const t = still.matches ? last : Math.min(last, (now - begun) / 1000);
      const next = Math.max(1, path.findIndex((point) => point[0] >= t));
      const [a, b] = [path[next - 1], path[next]], share = Math.max(0, (t - a[0]) / (b[0] - a[0]));
      const [x, y, z] = [1, 2, 3].map((i) => a[i] + share * (b[i] - a[i]));
      above.setAttribute("cx", x); above.setAttribute("cy", -y); above.setAttribute("visibility", "visible");
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
  for (const view of ["above", "beside"].map(find)) {
    const under = (event) => Number(event.target.closest("g.ball")?.dataset.ball ?? -1);
    view.addEventListener("click", (event) => { if (under(event) >= 0) choose(under(event)); });
    view.addEventListener("pointermove", (event) => point(under(event)));
    view.addEventListener("pointerleave", () => point(-1));
  }
  for (const button of document.querySelectorAll("button[data-ball]"))
    button.addEventListener("click", () => choose(Number(button.dataset.ball)));
  slider.addEventListener("input", () => step(Number(slider.value)));
  find("before").addEventListener("click", () => step(Number(slider.value) - 1));
  find("after").addEventListener("click", () => step(Number(slider.value) + 1));
  block.addEventListener("change", () => step(data.moments.findIndex((moment) => moment[2] === Number(block.value))));
  find("fly").addEventListener("click", fly);
  if (data.moments.length) step(Number(location.hash.slice(1)) - 1 || 0);
})();

// What can be dragged of the drawn ball: its landing, its contact, its way over the net and the edges of its zone. The
// feed's lines are written when it is let go. Only what a line can say has a handle.

import { scale } from "./session.js";

const SVG = "http://www.w3.org/2000/svg";

export function handles(side, half, picture, moved) {
  const { spots: { landing, contact, net, zone }, stretch } = picture;
  const can = (...parts) => parts.some((part) => picture.moves.includes(part));
  const up = (dy) => -dy / stretch;
  if (landing && can("depth")) {
    handle(side, landing[1], 0, 0.5, "Drag where it lands", (dx) => ({ depth: dx }), moved);
  }
  if (contact && can("stance", "height")) {
    const free = [can("stance"), can("height")];
    handle(side, contact[1], -stretch * contact[2], 0.5, "Drag where it is met",
      (dx, dy) => ({ stance: dx, height: up(dy) }), moved, free);
  }
  if (net && can("over")) {
    handle(side, 0, -stretch * net[2], 0.5, "Drag how high it crosses the net", (dx, dy) => ({ over: up(dy) }), moved, [false, true]);
  }
  const place = scale(half), [,, factor] = place(0, 0);
  const above = (x, y, radius, title, meaning, free) => handle(half, ...place(x, y).slice(0, 2), radius, title,
    (dx, dy) => meaning(dx / factor, -dy / factor), moved, free);
  if (zone) {
    const [[x0, y0], [x1, y1]] = corners(zone), x = (x0 + x1) / 2, y = (y0 + y1) / 2;
    const edge = (part, ex, ey, across) => can(part) && above(ex, ey, 1.6, "Drag this edge of the zone",
      (dx, dy) => ({ [part]: across ? dx : dy }), [across, !across]);
    edge("near", x, y0, false), edge("far", x, y1, false), edge("left", x0, y, true), edge("right", x1, y, true);
  }
  if (landing && can("depth", "side")) {
    above(landing[0], landing[1], 3, "Drag where it lands", (dx, dy) => ({ side: dx, depth: dy }), [can("side"), can("depth")]);
  }
}

const corners = ([x0, x1, y0, y1]) => [[x0, y0], [x1, y1]];

function handle(svg, x, y, radius, title, meaning, moved, [across, along] = [true, false]) {
  const made = document.createElementNS(SVG, "circle");
  const name = document.createElementNS(SVG, "title");
  for (const [key, value] of Object.entries({ class: "handle", cx: x, cy: y, r: radius })) made.setAttribute(key, value);
  made.style.cursor = across && along ? "move" : across ? "ew-resize" : "ns-resize";
  name.textContent = title;
  made.append(name);
  svg.append(made);
  let from = null;
  const by = (event) => {
    const now = place(event);
    return [across ? now.x - from.x : 0, along ? now.y - from.y : 0];
  };
  const place = (event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  made.onpointerdown = (event) => {
    from = place(event);
    made.setPointerCapture(event.pointerId);
    made.classList.add("held");
    event.preventDefault();
  };
  made.onpointermove = (event) => {
    if (from) made.setAttribute("transform", `translate(${by(event).join(" ")})`);
  };
  made.onpointercancel = () => end();
  made.onpointerup = (event) => {
    if (!from) return;
    const meant = meaning(...by(event));
    end();
    if (Object.values(meant).some(Boolean)) moved(meant);
  };
  const end = () => {
    from = null;
    made.removeAttribute("transform");
    made.classList.remove("held");
  };
}

// The landing and the contact of the drawn ball can be dragged; the feed's lines are written when they are let go.

const SVG = "http://www.w3.org/2000/svg";
const STRETCH = 2; // the side view draws heights twice as large

export function handles(side, half, picture, moved) {
  const { landing, contact } = picture.spots;
  const inSide = (dx, dy) => [dx, -dy / STRETCH];
  const dot = side.querySelector(".on .lands"), met = side.querySelector(".on .met");
  if (dot) handle(side, +dot.getAttribute("cx"), 0, 0.5, "Drag where it lands",
    (dx) => ({ depth: inSide(dx, 0)[0] }), moved);
  if (met) handle(side, contact[1], -STRETCH * contact[2], 0.5, "Drag where it is met",
    (dx, dy) => ({ stance: inSide(dx, dy)[0], height: inSide(dx, dy)[1] }), moved);
  const there = half.querySelector(".on .dot"), meets = half.querySelector(".on .met");
  const at = meets && /^M([\d.-]+) ([\d.-]+)/.exec(meets.getAttribute("d"));
  if (!there || !at || !landing) return;
  const box = meets.getBBox(); // the centre of the diamond
  const x = +there.getAttribute("cx"), y = +there.getAttribute("cy");
  const far = Math.hypot(contact[0] - landing[0], contact[1] - landing[1]);
  const factor = Math.hypot(box.x + box.width / 2 - x, box.y + box.height / 2 - y) / far;
  if (far > 0.3) handle(half, x, y, 3, "Drag where it lands", (dx, dy) => ({ side: dx / factor, depth: -dy / factor }), moved);
}

function handle(svg, x, y, radius, title, meaning, moved) {
  const made = document.createElementNS(SVG, "circle");
  const name = document.createElementNS(SVG, "title");
  for (const [key, value] of Object.entries({ class: "handle", cx: x, cy: y, r: radius })) made.setAttribute(key, value);
  name.textContent = title;
  made.append(name);
  svg.append(made);
  let from = null;
  const place = (event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  made.onpointerdown = (event) => {
    from = place(event);
    made.setPointerCapture(event.pointerId);
    made.classList.add("held");
    event.preventDefault();
  };
  made.onpointermove = (event) => {
    if (!from) return;
    const now = place(event);
    made.setAttribute("transform", `translate(${now.x - from.x} ${now.y - from.y})`);
  };
  made.onpointercancel = () => end();
  made.onpointerup = (event) => {
    if (!from) return;
    const now = place(event), by = meaning(now.x - from.x, now.y - from.y);
    end();
    moved(by);
  };
  const end = () => {
    from = null;
    made.removeAttribute("transform");
    made.classList.remove("held");
  };
}

// The session in time: a strip to scale, and its balls played one after the other in the drawings.

import { byId, plain } from "./elements.js";

const SVG = "http://www.w3.org/2000/svg";
const KINDS = { balls: "balls", rest: "rest", collect: "collect balls" };
const LONGEST = 10; // seconds between two balls; a longer rest is passed over, nothing would move

export class Session {
  // `ask` gets the session, `draw` draws a ball, `choose` also moves the cursor to it.
  constructor({ ask, draw, choose }) {
    Object.assign(this, { ask, draw, choose, known: null, shown: null, refocused: false, playing: 0, frame: 0, timer: 0 });
    const strip = byId("strip");
    byId("play").onclick = () => (this.playing ? this.pause() : this.play());
    byId("at").oninput = () => (this.pause(), this.step(+byId("at").value));
    strip.onpointermove = (event) => event.buttons && (this.dragged = true) && this.point(event, draw);
    strip.onpointerdown = () => (this.dragged = false);
    for (const comes of ["pointerover", "focusin"]) {
      strip.addEventListener(comes, ({ target }) => {
        const part = target.closest(".part");
        if (part && !this.playing && !this.refocused) byId("said").textContent = part.ariaLabel; // whole, also where the block is too short for it
      });
    }
  }

  // The text has changed: what is known of the session is of an older one.
  forget() {
    this.pause();
    this.known = null;
    byId("said").textContent = "";
    byId("now").hidden = true;
    byId("order").classList.add("behind");
  }

  nothing() {
    this.forget();
    byId("order").hidden = true;
    byId("whole").textContent = "";
  }

  // `behind`: the session is that of an older text.
  show(picture, behind) {
    this.shown = picture;
    byId("order").classList.toggle("behind", behind);
    byId("whole").textContent = behind ? "" : picture.whole;
    this.lasts = picture.session.at(-1)?.end || 1;
    byId("at").max = Math.max(0, picture.launches - 1);
    byId("order").hidden = !picture.launches;
    const focus = document.activeElement?.dataset?.part;
    byId("strip").replaceChildren(...picture.session.map((part, n) => {
      const words = (part.words || KINDS[part.kind]).replace(/\s+/g, " ");
      const nth = picture.session.slice(0, n).filter((one) => one.words === part.words).length;
      const made = plain("button", { type: "button", className: `part ${part.kind}`, disabled: !part.ball,
        title: words, onclick: (event) => this.picked(event, part, nth) }, plain("span", {}, words));
      made.setAttribute("aria-label", `${clock(part.start)} to ${clock(part.end)}: ${words}`);
      made.dataset.part = n;
      made.style.flex = `${part.end - part.start} 0 0`;
      return made;
    }));
    this.refocused = true; // nobody has come to it anew
    if (focus) byId("strip").children[focus]?.focus();
    this.refocused = false;
  }

  // By a key the block's first ball; by a pointer the ball that is fed at this moment. The cursor goes to the block.
  picked(event, part, nth) {
    if (this.dragged) return;
    const choose = (ball) => this.choose(ball, part.words, nth);
    if (event.detail) this.point(event, choose);
    else choose(part.ball);
  }

  async point(event, use) {
    const box = byId("strip").getBoundingClientRect();
    const at = this.lasts * Math.min(1, Math.max(0, (event.clientX - box.left) / box.width));
    this.pause();
    const known = await this.load();
    if (!known) return;
    const next = known.moments.findIndex((moment) => moment[1] > at);
    this.told(Math.max(0, (next < 0 ? known.moments.length : next) - 1), use);
  }

  async load() {
    if (!this.known) this.known = (await this.ask()).session;
    if (!this.known) byId("said").textContent = "The session is played once the errors are mended.";
    return this.known;
  }

  // Shows a ball of the session, by its number from 0.
  told(number, use = this.draw) {
    const [ball, seconds, words] = this.known.moments[number];
    byId("at").value = number;
    byId("at").setAttribute("aria-valuetext", words);
    byId("said").textContent = words;
    byId("now").style.left = `${100 * seconds / this.lasts}%`;
    byId("now").hidden = false;
    return use(ball);
  }

  async step(number) {
    if (await this.load()) await this.told(number);
  }

  pause() {
    this.playing = 0;
    cancelAnimationFrame(this.frame);
    clearTimeout(this.timer);
    byId("play").textContent = "Watch the session";
    for (const dot of document.querySelectorAll(".passing")) dot.remove();
  }

  async play() {
    const mine = this.playing = performance.now();
    byId("play").textContent = "Pause";
    byId("side").scrollIntoView({ block: "nearest" });
    const known = await this.load();
    if (!known?.moments.length) return this.pause();
    let number = +byId("at").value;
    if (number >= known.moments.length - 1) number = 0;
    while (this.playing === mine) {
      await this.told(number);
      const flown = this.playing === mine && await this.fly(known.paths[known.moments[number][0]], mine);
      if (this.playing !== mine) return;
      if (++number >= known.moments.length) return this.pause();
      const gap = Math.min(LONGEST, known.moments[number][1] - known.moments[number - 1][1]);
      await new Promise((go) => (this.timer = setTimeout(go, Math.max(0.3, gap - flown) * 1000 / pace())));
    }
  }

  // One flight, s, in all the views; at once where motion is not wanted.
  fly(path, mine) {
    const last = path.at(-1)[0], still = matchMedia("(prefers-reduced-motion: reduce)").matches, show = dots(this.shown);
    return new Promise((done) => {
      let t = 0, before = performance.now();
      const frame = (now) => {
        if (this.playing !== mine) return done(last);
        t = still ? last : Math.min(last, t + pace() * Math.max(0, now - before) / 1000);
        before = now;
        const next = Math.max(1, path.findIndex((point) => point[0] >= t));
        const [a, b] = [path[next - 1], path[next]], share = Math.max(0, (t - a[0]) / (b[0] - a[0]));
        show(...[1, 2, 3].map((i) => a[i] + share * (b[i] - a[i])));
        if (t < last) this.frame = requestAnimationFrame(frame);
        else done(last);
      };
      this.frame = requestAnimationFrame(frame);
    });
  }
}

// A ball in each view: from the side in metres, from above by the scale that the drawing states.
function dots({ stretch }) {
  for (const dot of document.querySelectorAll(".passing")) dot.remove();
  const made = (view, radius) => {
    const dot = document.createElementNS(SVG, "circle");
    dot.setAttribute("class", "flying passing");
    dot.setAttribute("r", radius);
    view.append(dot);
    return (x, y) => (dot.setAttribute("cx", x), dot.setAttribute("cy", y));
  };
  const side = made(byId("side").querySelector("svg"), .22), half = byId("half").querySelector("svg");
  const above = [[half, 1.5], [half.querySelector(".whole"), .8]].map(([view, radius]) => {
    const place = scale(view), put = made(view, radius);
    return (x, y) => put(...place(x, y));
  });
  return (x, y, z) => {
    side(y, -stretch * z);
    for (const put of above) put(x, y);
  };
}

// Metres of the court to units of a drawing from above.
export function scale(view) {
  const [left, top, factor, at] = view.dataset.scale.split(" ").map(Number);
  return (x, y) => [at + (x - left) * factor, (top - y) * factor, factor];
}

const pace = () => Number(byId("pace").value);
const clock = (seconds) => `${Math.floor(seconds / 60)}:${String(Math.round(seconds % 60)).padStart(2, "0")}`;

// The ball under the cursor: drawn, judged, held and compared. A picture that is behind the text says so.

import { byId, drawing, plain } from "./elements.js";
import { handles } from "./moving.js";
import { Session } from "./session.js";

const SVG = "http://www.w3.org/2000/svg";
const FACTS = [
  ["over", "crosses the net", "m", "higher", "lower", 2], ["lands", "lands", "m", "deeper", "shorter", 1],
  ["met", "is met", "m", "higher", "lower", 2], ["time", "is met", "s", "later", "sooner", 2],
  ["speed", "leaves the feeder", "km/h", "faster", "slower", 0],
];

const SAYS = { depth: "where it lands", side: "to which side it comes", height: "how high it is", pace: "how fast it is", stance: "where it is met", near: "its zone" };
const FOLLOWS = (says) => `${says} follows from the rest of the ball`;

export class Pictures {
  constructor({ ask, begun, place, go, goBlock, write, play, add, form }) {
    this.session = new Session({ ask: play, draw: (ball) => this.draw(ball), choose: (...what) => this.choose(...what) });
    Object.assign(this, { ask, begun, place, go, goBlock, write, shown: null, lines: {}, held: null, asked: 0, ball: null });
    const feed = () => this.missing || this.shown.balls.find((one) => one.id === this.ball).feed;
    for (const [name, what] of [["throw", "throw"], ["mirror", "mirror"], ["remove", "removal"]]) byId(name).onclick = () => add(what, feed());
    for (const [name, what] of [["change", "change"], ["copy", "ball"]]) byId(name).onclick = () => form(what, feed());
    byId("hold").onclick = () => this.hold();
    for (const button of document.querySelectorAll("[data-move]")) {
      button.onclick = () => this.move(JSON.parse(button.dataset.move));
    }
  }

  // A key was pressed: until an answer comes, the drawing is of an older text.
  waiting() {
    this.asked++; // an answer that is on its way is of the older text
    this.session.forget();
    this.mark("This picture is older than the script: the balls are being worked out.");
  }

  stale(diagnostics) {
    const wrong = diagnostics.some((one) => one.severity === 1);
    this.wrong = wrong;
    byId("soon").textContent = !this.begun() ? "Press \u201cAdd a ball\u201d: it is drawn here."
      : wrong ? "A ball is drawn here once the script has no error." : "The balls are being worked out.";
    if (wrong) this.mark("This picture is older than the script: it is drawn again once the errors are mended.");
  }

  mark(words = "") {
    byId("old").textContent = words;
    byId("old").hidden = !words || !this.shown;
    byId("drawings").classList.toggle("old", !!words && !!this.shown);
  }

  // The ball at the cursor, or the one that is named.
  async draw(ball = null) {
    const number = ++this.asked;
    const params = ball ? { ball } : { position: this.place(), ball: this.ball };
    const answer = await this.ask(params);
    if (number !== this.asked || !answer) return;
    this.missing = answer.missing; // the ball at the cursor, of which there is no picture
    if (!answer.picture) return this.nothing();
    this.lines = answer.lines;
    this.show(answer.picture, answer.behind);
    byId("alone").hidden = !answer.alone;
    byId("lone").textContent = answer.alone === "unplayed" ? "This ball is not yet in the session. " : "Drawn by itself: the script has errors. ";
    byId("throw").hidden = answer.alone !== "unplayed";
    this.mark(answer.old ? (this.wrong
      ? "This picture is older than the script: it is drawn again once the errors are mended."
      : "This picture is older than the script: the balls are being worked out.") : "");
    if (this.missing) this.lacks();
    performance.mark("desk-picture");
  }

  // The ball at the cursor cannot be drawn: the buttons are about it, not about the one that is in sight.
  lacks() {
    this.ball = this.missing;
    byId("ball").textContent = this.missing;
    byId("marks").replaceChildren(plain("li", { className: "doubt" }, `\u2715 ${this.missing} cannot be drawn as it stands`));
  }

  // No ball of this script is known.
  nothing() {
    Object.assign(this, { shown: null, ball: null, held: null });
    byId("drawings").classList.replace("drawn", "none");
    byId("ball").textContent = "No ball yet";
    byId("drawings").classList.toggle("lacks", !!this.missing);
    if (this.missing) this.lacks();
    this.session.nothing();
    this.mark();
  }

  show(picture, behind) {
    const changed = !this.shown || picture.ball !== this.ball;
    this.shown = picture;
    this.ball = picture.ball;
    byId("drawings").classList.replace("none", "drawn");
    byId("ball").textContent = picture.title;
    byId("marks").replaceChildren(...picture.marks.map(([sign, words]) =>
      plain("li", { className: sign === "●" ? "well" : "doubt" }, plain("span", { className: "sign", ariaHidden: "true" }, `${sign} `), words)));
    byId("verdict").replaceChildren(...picture.verdict.flatMap(([sign, word, label, text]) => {
      const name = plain("dt", { className: word.replace(" ", "-") }, plain("span", { ariaHidden: "true" }, sign && `${sign} `), label);
      return [name, plain("dd", {}, word && plain("b", {}, `${word}: `), text)];
    }));
    listed(byId("figures"), picture.figures);
    for (const name of ["side", "half"]) {
      const svg = drawing(picture[name]);
      for (const group of svg.querySelectorAll("[data-ball]")) this.choosable(group, picture);
      byId(name).replaceChildren(svg);
    }
    handles(byId("side").firstChild, byId("half").firstChild, picture, (by) => this.move(by));
    this.ghost();
    this.list(picture);
    this.session.show(picture, behind);
    this.movable(picture);
    if (changed || this.held) this.compare();
  }

  // A button whose line this ball has not is grey, and says why.
  movable(picture) {
    const grey = {};
    for (const button of document.querySelectorAll("[data-move]")) {
      const parts = Object.keys(JSON.parse(button.dataset.move)), [what] = parts;
      button.disabled = !parts.some((part) => picture.moves.includes(part));
      button.title = button.disabled ? FOLLOWS(SAYS[what]) : "";
      if (button.disabled) (grey[SAYS[what]] ||= []).push(button.textContent);
    }
    byId("grey").textContent = Object.entries(grey).map(([says, names]) => `${names.join(", ")}: ${FOLLOWS(says)}.`).join(" ")
      + (Object.keys(grey).length ? " \u201cChange\u201d lets you choose it." : "");
  }

  choosable(group, picture) {
    const ball = picture.drawn[group.dataset.ball];
    group.classList.toggle("on", ball === picture.ball);
    group.addEventListener("click", () => this.choose(ball));
  }

  // The cursor goes to its feed, or to the block that says these words for the `nth` time.
  choose(ball, words, nth) {
    const feed = this.shown.balls.find((one) => one.id === ball)?.feed;
    this.ball = ball;
    if (words) this.goBlock(words, nth);
    else if (feed in this.lines) this.go(this.lines[feed]);
    this.draw(ball);
  }

  async move(by) {
    if (!this.shown) return;
    const written = await this.write({ ball: this.ball, by });
    byId("differs").textContent = written ? "" : "No line of this feed says that, so nothing was written.";
  }

  list(picture) {
    const named = picture.balls.some((one) => one.feed === this.missing) || !this.missing ? picture.balls : [...picture.balls, { id: this.missing, letter: "" }];
    const focus = document.activeElement?.dataset?.choice;
    byId("list").replaceChildren(...named.map((one) => {
      const made = plain("button", { type: "button", onclick: () => this.choose(one.id) }, `${one.letter} ${one.id}`.trim());
      made.dataset.choice = `ball ${one.id}`;
      made.setAttribute("aria-pressed", String(one.id === (this.missing || picture.ball)));
      return made;
    }));
    if (focus) [...document.querySelectorAll("[data-choice]")].find((one) => one.dataset.choice === focus)?.focus();
  }

  hold() {
    this.held = this.held ? null : { picture: this.shown, ghost: byId("side").querySelector(".ball.on")?.cloneNode(true) };
    byId("hold").setAttribute("aria-pressed", String(!!this.held));
    byId("hold").textContent = this.held ? `Stop comparing with ${this.held.picture.title}` : "Compare with this ball";
    this.ghost();
    this.compare();
  }

  // The held ball behind the chosen one: both views are in metres from the net and the ground.
  ghost() {
    const svg = byId("side").querySelector("svg");
    svg?.querySelector(".ghost")?.remove();
    if (!svg || !this.held?.ghost) return;
    const ghost = document.createElementNS(SVG, "g");
    ghost.setAttribute("class", "ghost");
    ghost.append(...[...this.held.ghost.cloneNode(true).childNodes].filter((node) => !node.classList?.contains("extra")));
    svg.prepend(ghost);
  }

  compare() {
    byId("differs").textContent = this.held ? difference(this.held.picture, this.shown) : "";
  }
}

function difference(held, shown) {
  const parts = [];
  for (const [name, does, unit, more, less, digits] of FACTS) {
    const one = held.facts[name], other = shown.facts[name];
    if (one == null || other == null) continue;
    const change = (other - one) * (unit === "km/h" ? 3.6 : 1), amount = Math.abs(change).toFixed(digits);
    if (Number(amount)) parts.push(`${does} ${amount} ${unit} ${change > 0 ? more : less}`);
  }
  return parts.length ? `Unlike ${held.title} as held, this one ${parts.join(", ")}.` : `This is ${held.title} as held.`;
}

function listed(list, rows) {
  list.replaceChildren(...rows.flatMap(([label, text]) => [plain("dt", {}, label), plain("dd", {}, text)]));
}

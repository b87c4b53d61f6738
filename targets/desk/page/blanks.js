// Forms with blanks that write a variation, a ball, a point or a block of the session into the script.

import { byId, plain } from "./elements.js";

const NUMBER = { type: "number", step: "any", required: true };
const metres = (value) => ({ ...NUMBER, value });
const NAME = { type: "text", required: true, pattern: "[A-Za-z][A-Za-z0-9_]*(-[A-Za-z0-9_]+)*", title: "one word: letters, numbers and hyphens" };
const FORMS = {
  variation: ["What the player does", [
    ["name", "Name, one word", { ...NAME, placeholder: "deep" }],
    ["title", "In a few words", { type: "text", required: true, placeholder: "deep to the corner" }],
    ["when", "When the player does it", { type: "text", placeholder: "the ball comes short" }],
    ["near", "The reply lands from, m inside the baseline", metres(0.5)], ["far", "to, m inside the baseline", metres(5)],
    ["over", "and passes the net by at least, m", metres(0.5)],
    ["goal", "Goal: good replies in a row", { ...NUMBER, step: 1, value: 5 }],
  ]],
  ball: ["A ball", [
    ["name", "Name, one word", { ...NAME, placeholder: "short" }],
    ["side", "To which side it comes", "side"],
    ["bounce", "How it is met", "bounce"], ["met", "how high, m", metres(1.2)],
    ["depth", "Where it lands", "depth"], ["interval", "Seconds to the next ball", { ...NUMBER, value: 6 }],
    ["near", "Lands from, m inside the baseline", metres(1)], ["far", "to, m inside the baseline", metres(4)],
    ["stance_from", "Where it is met", "stance_from"], ["stance", "so far, m", metres(0.5)],
    ["level", "Its way over the net", "level"], ["height", "how high, m", metres(1)],
    ["turn", "Spin", "turn"], ["rpm", "how much, rpm", { ...NUMBER, value: 1000 }],
    ["pace", "How fast it leaves, km/h", { ...NUMBER, value: 60 }],
    ["aims", "What the player does with it", "aims"], ["played", "When it is played", "played"],
    ["amount", "How long", { ...NUMBER, value: 8 }], ["measure", "counted in", "counts"], ["rest", "Seconds of rest after it", { ...NUMBER, value: 0 }],
  ]],
  point: ["A point: balls that belong together", [
    ["name", "Name, one word", { ...NAME, placeholder: "attack" }],
    ["first", "Its first ball", "balls"], ["second", "Its second ball", "balls"], ["third", "Its third ball", "balls"],
    ["missed", "After a miss", "missed"],
  ]],
  part: ["A block of the session", [
    ["balls", "Its balls", "ticked"], ["order", "Their order", "order"],
    ["amount", "How long", { ...NUMBER, value: 3 }], ["measure", "counted in", "measure"],
    ["rounds", "How many times", { ...NUMBER, step: 1, value: 1 }],
    ["rest", "Seconds of rest after it, each time", { ...NUMBER, value: 0 }],
    ["between", "No rest after the last time", { type: "checkbox", checked: true }],
    ["step", "What changes from step to step", "step"], ["first", "First step", { ...NUMBER, value: 60 }],
    ["last", "Last step", { ...NUMBER, value: 80 }], ["most", "At most so many balls", { ...NUMBER, step: 1, value: 30 }], ["rungs", "Number of steps", { ...NUMBER, step: 1, value: 4 }],
    ["up", "Hits in a row that lead up", { ...NUMBER, step: 1, value: 3 }],
    ["down", "Misses among six balls that lead down", { ...NUMBER, step: 1, value: 2 }],
  ]],
};
const SHOWN = {
  cycle: "in turn (cycle)", mix: "as nobody foresees (mix)", ladder: "one ball, step by step after hits (ladder)",
  drive: "a drive: 1 m over the net", "high ball": "a high ball: 2 m over the net", lob: "a lob: 4 m over the net",
  "over the net": "so many metres over the net", falling: "by its height at the player, falling", rising: "by its height at the player, rising",
  pace: "by how fast it leaves the feeder", "on the full": "on the full, before it bounces (volley, smash)",
  metres: "by metres", deep: "deep: 0.5 to 2.5 m inside the baseline", midcourt: "midcourt: around the service line",
  short: "short: 3 to 5.4 m from the net", "service box": "anywhere in the service box",
  "behind baseline": "behind the baseline", "inside baseline": "inside the baseline", "from net": "from the net",
  "in turn": "in turn with the balls of the last block", alone: "in a block of its own", "not yet": "not yet",
  min: "minutes", "goes on": "the point goes on", "from the start": "the point starts again",
};
const OTHERWISE = { step: { pace: "how fast it leaves, km/h", height: "its height over the net, m" } };
const NONE = { aims: "nothing said: the ball alone counts", third: "no third ball" };
const said = (blank, text) => OTHERWISE[blank]?.[text] || SHOWN[text] || text;
const BOUNCES = (form) => form.bounce !== "on the full", CLIMBED = (form) => form.order === "ladder", ALONE = (form) => form.played === "alone";
const METRES = (form) => BOUNCES(form) && form.depth === "metres";
const USED = { // which blanks matter, by what another one holds
  ball: {
    depth: BOUNCES, near: METRES, far: METRES, met: (form) => !BOUNCES(form),
    rpm: (form) => form.turn !== "flat", height: (form) => ["over the net", "falling", "rising"].includes(form.level),
    pace: (form) => form.level === "pace", amount: ALONE, measure: ALONE, rest: ALONE,
  },
  part: {
    between: (form) => form.rounds > 1 && form.rest > 0,
    amount: (form) => !CLIMBED(form), measure: (form) => !CLIMBED(form), most: CLIMBED, step: CLIMBED, first: CLIMBED, last: CLIMBED, rungs: CLIMBED, up: CLIMBED, down: CLIMBED,
  },
};

const KEPT = ["amount", "measure", "rest", "interval"], kept = { ball: {}, part: {} }; // one ball after the other is fed alike

// `ask` speaks with the server; `write` puts its edits into the script.
export async function blanks(what, ask, write) {
  const known = await ask("desk/blanks", {});
  known.counts = ["balls", "min"];
  const [title, fields] = FORMS[what];
  const box = byId("begin"), wrong = plain("p", { className: "doubt" });
  wrong.setAttribute("role", "alert");
  const inputs = fields.map(([blank, words, kind]) => [blank, words, input(blank, kind, known)]);
  for (const [blank, , made] of inputs) made.value = kept[what]?.[blank] ?? made.value;
  const values = () => Object.fromEntries(inputs.map(([blank, , made]) => [blank, value(blank, made)]));
  const form = plain("form", {}, plain("h2", {}, title), ...inputs.map(([blank, words, made]) => Array.isArray(value(blank, made))
    ? plain("fieldset", {}, plain("legend", {}, words), made) : plain("label", {}, `${words} `, made)), wrong,
    plain("div", { className: "last keys" }, plain("button", { type: "submit" }, "Write it"), plain("button", { type: "button", onclick: () => box.close() }, "Change nothing")));
  const used = () => {
    const now = values();
    for (const [blank, , made] of inputs) {
      if (!USED[what]?.[blank]) continue;
      made.disabled = !USED[what][blank](now);
      made.parentNode.className = made.disabled ? "unused" : ""; // its place stays, so that no field moves under a hand
    }
    for (const [blank, most] of [["rpm", known.limits[now.turn]], ["pace", known.limits.pace]]) {
      const made = form.elements[blank]; // what this feeder gives
      if (made && most) made.value = Math.min(made.value, Math.floor(made.max = most));
    }
  };
  form.oninput = used;
  used();
  form.onsubmit = async (event) => {
    event.preventDefault();
    const { edits, problem } = await ask("desk/add", { what, blanks: values() });
    if (problem) {
      const label = fields.find(([blank]) => problem.startsWith(`${blank} is `));
      const words = label ? `\u201c${label[1]}\u201d${problem.slice(label[0].length)}` : `${problem[0].toUpperCase()}${problem.slice(1)}`;
      return void (wrong.textContent = `${words}.`);
    }
    for (const [blank, , made] of inputs) if (kept[what] && KEPT.includes(blank) && !made.disabled) kept[what][blank] = made.value;
    box.close();
    write(edits);
  };
  box.setAttribute("aria-label", title);
  box.replaceChildren(form);
  box.showModal();
  form.querySelector("input, select").focus();
}

function input(blank, kind, known) {
  if (kind === "ticked") {
    return plain("div", { className: "ticked" }, known.balls.length ? "" : "No ball yet: add one first.", ...[...known.balls, ...known.points].map((name) =>
      plain("label", {}, plain("input", { type: "checkbox", value: name, checked: known.balls.length === 1 }), ` ${name}`)));
  }
  if (typeof kind !== "string") return plain("input", { name: blank, ...kind });
  const none = blank in NONE ? [plain("option", { value: "", selected: blank === "third" }, NONE[blank])] : [];
  return plain("select", { name: blank }, ...known[kind].map((text) => plain("option", { value: text }, said(blank, text))), ...none);
}

function value(blank, made) {
  if (made.className === "ticked") return [...made.querySelectorAll(":checked")].map((one) => one.value);
  if (made.type === "checkbox") return made.checked;
  return made.type === "number" ? made.valueAsNumber || 0 : made.value;
}

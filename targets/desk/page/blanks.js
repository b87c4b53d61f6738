// Forms with blanks that write a variation, a ball or a part of the session into the script.

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
    ["aims", "What the player does with it", "aims"], ["side", "Where it lands, to a side", "side"],
    ["near", "Where it lands, from, m inside the baseline", metres(1)], ["far", "to, m inside the baseline", metres(4)],
    ["stance", "Where it is met, m behind the baseline (a minus is inside)", metres(0.5)],
    ["level", "Its height is taken", "level"], ["height", "How high there, m", metres(1)],
    ["pace", "How fast, km/h (before it bounces alone)", { ...NUMBER, value: 60 }],
    ["turn", "Spin", "turn"], ["rpm", "How much spin, rpm", { ...NUMBER, value: 1000 }],
    ["interval", "Seconds to the next ball", { ...NUMBER, value: 6 }],
  ]],
  part: ["A part of the session", [
    ["minutes", "Minutes", { ...NUMBER, value: 3 }], ["balls", "Its balls", "balls"], ["order", "Their order", "order"],
    ["rest", "Minutes of rest after it", { ...NUMBER, value: 0 }],
  ]],
};
const SHOWN = {
  cycle: "in turn (cycle)", mix: "as nobody foresees (mix)", falling: "at the player, falling", rising: "at the player, rising",
  "on the full": "at the player, before it bounces",
};
const USED = { // which blanks matter, by what another one holds
  near: (form) => form.level !== "on the full", far: (form) => form.level !== "on the full", rpm: (form) => form.turn !== "flat",
  pace: (form) => form.level === "on the full",
};

// `ask` speaks with the server; `write` puts its edits into the script.
export async function blanks(what, ask, write) {
  const known = await ask("desk/blanks", {});
  const [title, fields] = FORMS[what];
  const box = byId("begin"), wrong = plain("p", { className: "doubt" });
  wrong.setAttribute("role", "alert");
  const inputs = fields.map(([blank, words, kind]) => [blank, words, input(blank, kind, known)]);
  const values = () => Object.fromEntries(inputs.map(([blank, , made]) => [blank, value(blank, made)]));
  const form = plain("form", {}, plain("h2", {}, title), ...inputs.map(([blank, words, made]) => blank === "balls"
    ? plain("fieldset", {}, plain("legend", {}, words), made) : plain("label", {}, `${words} `, made)), wrong,
    plain("button", { type: "submit" }, "Write it"), plain("button", { type: "button", onclick: () => box.close() }, "Leave it as it is"));
  const used = () => {
    const now = values();
    for (const [blank, , made] of inputs) if (what === "ball" && USED[blank]) made.disabled = !USED[blank](now);
  };
  form.oninput = used;
  used();
  form.onsubmit = async (event) => {
    event.preventDefault();
    const { edits, problem } = await ask("desk/add", { what, blanks: values() });
    if (problem) return void (wrong.textContent = `${problem[0].toUpperCase()}${problem.slice(1)}.`);
    box.close();
    write(edits);
  };
  box.setAttribute("aria-label", title);
  box.replaceChildren(form);
  box.showModal();
  form.querySelector("input, select").focus();
}

function input(blank, kind, known) {
  if (blank === "balls") {
    return plain("div", {}, ...known.balls.map((name) =>
      plain("label", {}, plain("input", { type: "checkbox", value: name }), ` ${name}`)));
  }
  if (typeof kind !== "string") return plain("input", { name: blank, ...kind });
  const none = blank === "aims" ? [plain("option", { value: "" }, "nothing said")] : [];
  const options = known[kind].map((text) => plain("option", { value: text }, SHOWN[text] || text));
  return plain("select", { name: blank }, ...(blank === "aims" ? [...options, ...none] : options));
}

function value(blank, made) {
  if (blank === "balls") return [...made.querySelectorAll(":checked")].map((one) => one.value);
  return made.type === "number" ? made.valueAsNumber || 0 : made.value;
}

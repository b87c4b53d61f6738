// Writes a new practice: its head from a few blanks, or an included program by what it trains.

import { byId, plain } from "./elements.js";

// `take` puts the text in place of the script; `go` then opens the form of a first ball.
export async function beginning(ask, take, say, go) {
  const known = await ask("desk/beginnings", {});
  const box = byId("begin");
  const choice = (values, words = (value) => value) =>
    plain("select", {}, ...values.map((value) => plain("option", { value }, words(value))));
  const named = (fields) => Object.entries(fields).map(([name, field]) => Object.assign(field, { name }));
  const feeder = choice(Object.keys(known.feeders), (one) => `${one}: ${known.said[one] || ""}`);
  const starts = () => [plain("option", { value: "" }, "no ball yet: I add each one"),
    ...known.feeders[feeder.value].map((one) => plain("option", { value: one }, `two balls for doubles: ${known.said[one]}`))];
  const title = plain("input", { type: "text", required: true, maxLength: 60, placeholder: "Tuesday juniors" });
  const court = choice(known.courts), hand = choice(known.hands), variation = plain("select", {}, ...starts());
  const stature = plain("input", { type: "number", min: known.stature[0], max: known.stature[1], step: 0.01, placeholder: "not known" });
  named({ title, court, hand, stature, feeder, variation });
  feeder.onchange = () => variation.replaceChildren(...starts());
  const fields = [["What the practice is called", title], ["Who or what feeds", feeder], ["Hand of the player", hand],
    ["How tall, m", stature], ["What it begins with", variation], ["Court", court]];
  const begin = async (params) => {
    const { text, problem } = await ask("desk/begin", params);
    box.close();
    if (problem) return say(`${problem}.`);
    take(text);
    if (!params.program && !params.variation) go();
  };
  const form = plain("form", { onsubmit: (event) => {
    event.preventDefault();
    begin({ title: title.value, court: court.value, hand: hand.value, stature: stature.value ? Number(stature.value) : null,
      feeder: feeder.value, variation: variation.value });
  }, oninput: () => {
    if (variation.value) court.value = "doubles";
    court.disabled = !!variation.value;
  } }, plain("h2", {}, "A new practice, in place of this script"),
    ...fields.map(([words, field]) => plain("label", {}, `${words} `, field)),
    plain("button", { type: "submit" }, "Write it"), plain("button", { type: "button", onclick: () => box.close() }, "Change nothing"));
  const find = plain("input", { type: "search", placeholder: "such as volley or child" });
  find.setAttribute("aria-label", "Find a program");
  const list = plain("ul", {});
  const show = () => {
    const words = find.value.toLowerCase().split(/\s+/);
    list.replaceChildren(...known.programs
      .filter((one) => words.every((word) => `${one.about} ${one.level} ${one.name}`.toLowerCase().includes(word)))
      .map((one) => plain("li", {}, plain("button", { type: "button", onclick: () => begin({ program: one.name }) },
        `${one.about} (${one.level}, ${Math.round(one.minutes)} min)`))));
  };
  find.oninput = show;
  show();
  box.replaceChildren(form, plain("h2", {}, "Or an included program"), find, list,
    plain("button", { type: "button", onclick: () => box.close() }, "Change nothing"));
  box.setAttribute("aria-label", "A new practice");
  box.showModal();
}

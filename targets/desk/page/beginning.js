// Begins a script anew: a first practice with its blanks filled, or an included program by what it trains.

import { byId, plain } from "./elements.js";

export async function beginning(ask, take, say) {
  const known = await ask("desk/beginnings", {});
  const box = byId("begin");
  const choice = (name, values) => {
    const made = plain("select", { name }, ...values.map((value) => plain("option", { value }, value)));
    return made;
  };
  const hand = choice("hand", known.hands), feeder = choice("feeder", Object.keys(known.feeders));
  const stature = plain("input", { name: "stature", type: "number", min: known.stature[0], max: known.stature[1], step: 0.01, placeholder: "not known" });
  const variation = choice("variation", known.feeders[feeder.value]);
  feeder.onchange = () => variation.replaceChildren(...choice("", known.feeders[feeder.value]).children);
  const fields = [["Hand of the player", hand], ["How tall, m", stature], ["Who or what feeds", feeder], ["What the player does", variation]];
  const begin = async (params) => {
    const { text, problem } = await ask("desk/begin", params);
    box.close();
    if (problem) say(`${problem}.`);
    else take(text);
  };
  const form = plain("form", { onsubmit: (event) => {
    event.preventDefault();
    begin({ hand: hand.value, stature: stature.value ? Number(stature.value) : null, feeder: feeder.value, variation: variation.value });
  } }, plain("h2", {}, "A first practice"),
    ...fields.map(([words, field]) => plain("label", {}, `${words} `, field)), plain("button", { type: "submit" }, "Write it"));
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
    plain("button", { type: "button", onclick: () => box.close() }, "Leave it as it is"));
  box.setAttribute("aria-label", "Begin anew");
  box.showModal();
}

// Writes a new practice: its head from a few blanks, or an included program by what it trains.

import { byId, plain } from "./elements.js";

const LEVELS = { beginner: "beginner", improver: "improver", club: "club player", tournament: "tournament player" };

// `take` puts the text in place of the script; `go` then opens the form of a first ball. `first`: nobody has written
// anything yet.
export async function beginning(ask, take, say, go, first = false) {
  const known = await ask("desk/beginnings", {});
  const box = byId("begin");
  const choice = (values, words = (value) => value) =>
    plain("select", {}, ...values.map((value) => plain("option", { value }, words(value))));
  const named = (fields) => Object.entries(fields).map(([name, field]) => Object.assign(field, { name }));
  const feeder = choice(Object.keys(known.feeders), (one) => `${one}: ${known.said[one] || ""}`);
  const starts = () => [plain("option", { value: "" }, "none: I add each one"),
    ...known.feeders[feeder.value].map((one) => plain("option", { value: one }, `two balls for doubles: ${known.said[one]}`))];
  const title = plain("input", { type: "text", required: true, maxLength: 60, placeholder: "Tuesday juniors" });
  const court = choice(known.courts), surface = choice(known.surfaces), level = choice(known.levels, (one) => LEVELS[one]), hand = choice(known.hands), variation = plain("select", {}, ...starts());
  const stature = plain("input", { type: "number", min: known.stature[0], max: known.stature[1], step: 0.01 });
  const number = (value, min, max, step) => plain("input", { type: "number", required: true, value, min, max, step });
  const PLACES = { baseline: "on the baseline", "service line": "on the service line", "from net": "so many metres from the net" };
  const places = () => known.places[feeder.value].filter((one) => PLACES[one] !== known.usual[feeder.value])
    .map((value) => plain("option", { value }, PLACES[value] || known.usual[feeder.value]));
  const place = plain("select", {}, ...places()), metres = number(9, 1, 20, 0.1), screen = plain("input", { type: "checkbox" });
  const players = number(1, 1, known.players, 1), turns = number(1, 1, 100, 1);
  named({ title, court, surface, level, hand, stature, feeder, variation, place, metres, screen, players, turns });
  feeder.onchange = () => {
    variation.replaceChildren(...starts());
    place.replaceChildren(...places());
  };
  const fields = [["What the practice is called", title], ["Level of the player", level], ["Hand of the player", hand], ["How tall, m, if known", stature], ["Court", court], ["Surface", surface], ["Who or what feeds", feeder], ["Where it stands", place],
    ["Metres from the net", metres], ["A screen stands in front of it", screen], ["How many players take turns", players],
    ["They change every so many balls", turns], ["Balls to begin with", variation]];
  const begin = async (params) => {
    const { text, problem } = await ask("desk/begin", params);
    box.close();
    if (problem) return say(`${problem}.`);
    take(text);
    if (!params.program && !params.variation) go();
  };
  const form = plain("form", { onsubmit: (event) => {
    event.preventDefault();
    begin({ title: title.value, court: court.value, surface: surface.value, level: level.value, hand: hand.value, stature: stature.value ? Number(stature.value) : null,
      feeder: feeder.value, variation: variation.value, place: place.value, metres: Number(metres.value),
      screen: screen.checked, players: Number(players.value), turns: Number(turns.value) });
  }, oninput: () => used() }, plain("h2", {}, first ? "A new practice" : "A new practice, in place of this script"),
    ...fields.map(([words, field]) => plain("label", {}, `${words} `, field)),
    plain("div", { className: "keys" }, plain("button", { type: "submit" }, "Write it"),
      plain("button", { type: "button", onclick: () => box.close() }, first ? "Look at an example" : "Change nothing")));
  const used = () => {
    variation.disabled = court.value !== "doubles"; // the two balls are those of a doubles player
    if (variation.disabled) variation.value = "";
    metres.disabled = place.value !== "from net";
    turns.disabled = !(players.value > 1);
    for (const one of [metres, turns, variation]) one.parentNode.className = one.disabled ? "unused" : "";
  };
  used();
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
    plain("button", { type: "button", onclick: () => box.close() }, first ? "Look at an example" : "Change nothing"));
  box.setAttribute("aria-label", "A new practice");
  box.showModal();
}

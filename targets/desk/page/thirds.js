// Of where a ball lands, how high and how fast it is, two decide the third. The form keeps to that: what nobody has chosen
// follows, and where all three were chosen the coach says which one gives way.

import { plain } from "./elements.js";

export const THREE = ["depth", "level", "speed"];
const WORDS = { depth: "Where it lands", level: "How high it is", speed: "How fast it is" };
const FIRST = { depth: "metres", level: "drive", speed: "pace" }; // what is said of one that has to be said

// `chosen` are the blanks that somebody has chosen; `changed` is the one that was changed last. Returns what is to be told
// and chosen, or nothing.
export function thirds(elements, chosen, changed, again) {
  const full = elements.bounce.value !== "after a bounce" && elements.bounce.value !== "", three = full ? ["level", "speed"] : THREE;
  if (elements.level.value === "") return [];
  const said = () => three.filter((blank) => elements[blank].value !== "open"), wanted = full ? 1 : 2;
  const free = three.filter((blank) => blank !== changed && !chosen.has(blank));
  if (said().length > wanted) {
    const gives = ["level", "speed", "depth"].find((blank) => free.includes(blank) && said().includes(blank));
    if (gives) elements[gives].value = "open";
  } else if (said().length < wanted) {
    const missing = ["speed", "level", "depth"].find((blank) => blank !== changed && three.includes(blank) && elements[blank].value === "open");
    elements[missing].value = FIRST[missing];
  }
  if (said().length <= wanted) return [];
  const button = (blank) => plain("button", { type: "button", onclick: () => {
    elements[blank].value = "open";
    again();
  } }, WORDS[blank]);
  return [plain("span", {}, full ? "On the full these two decide each other. Which one follows? " : "These three cannot all be chosen. Which one follows from the others? "),
    ...three.map(button)];
}

// Forms with blanks that write a variation, a ball, a point or a block of the session into the script, or change one.

import { byId, plain } from "./elements.js";
import { FORMS, STANDS, USED, none, said } from "./forms.js";
import { THREE, thirds } from "./thirds.js";

const KEPT = ["amount", "measure", "interval"], kept = {}; // one ball after the other is fed alike
const GROUPS = { side: "side", depth: "depth", stance: "stance_from", flight: "level", spin: "turn", interval: "interval", order: "order", before: "before", rest: "rest" };
const NUMBERS = ["interval", "before", "rest"]; // groups of one number: what no number holds stays
const RESTS = 250; // ms after which a form is worked out that nobody touches

// `ask` speaks with the server; `write` puts its edits into the script. `of` is the ball that is changed or, for a new
// one, copied, or the row of a block.
export async function blanks(what, ask, write, of = {}) {
  const known = await ask("desk/blanks", { ...of, what });
  if (known.problem) return known.problem;
  known.counts = ["balls", "min"];
  const [title, rows] = FORMS[what], held = known.held || {};
  const box = byId("begin"), inputs = {}, chosen = new Set(of.name ? ["depth", "level", "speed"] : []);
  const wrong = plain("p", { className: "doubt" }), follow = plain("p", { className: "follow" }), does = plain("div", { className: "does" });
  wrong.setAttribute("role", "alert"), follow.setAttribute("role", "status"), does.setAttribute("role", "status");
  const isBall = what === "ball" || what === "change";
  const made = rows.map(([words, ...fields]) => {
    const parts = fields.map(([blank, kind, behind]) => {
      inputs[blank] = input(blank, kind, known, fields.length > 1 ? `${words}: ${behind || blank}` : words);
      const now = held[blank] ?? (of.name ? undefined : kept[what]?.[blank] ?? known.begin?.[blank]);
      if (now !== undefined) put(inputs[blank], now);
      const group = Object.keys(GROUPS).find((one) => GROUPS[one] === blank), stays = known.kept?.[group];
      if (stays && inputs[blank].tagName === "SELECT") inputs[blank].prepend(plain("option", { value: "", selected: true }, `as it stands: ${stays}`));
      else if (stays) inputs[blank].readOnly = true, behind = `as it stands: ${stays}`;
      return plain("span", { className: "blank" }, inputs[blank], ...(behind ? [` ${behind}`] : []), ...(blank === "rpm" || (isBall && blank === "pace") ? [plain("small", {})] : []));
    });
    if (inputs[fields[0][0]].className === "ticked") return plain("fieldset", {}, plain("legend", {}, words), ...parts);
    return plain("label", {}, plain("span", {}, words), plain("span", { className: "fields" }, ...parts));
  });
  // A place of the player by how high the ball is there.
  const heights = plain("p", { className: "follow" }, "Meet it at the ", ...Object.entries(known.heights).map(([part, height]) =>
    plain("button", { type: "button", onclick: () => {
      inputs.stance_from.value = `${part} high`;
      chosen.add("stance_from");
      used();
    } }, `${part}: ${height} m`)));
  // The three that decide each other stand together, with what comes of them.
  const three = isBall ? rows.map(([, [blank]], n) => THREE.includes(blank) && made[n]).filter(Boolean) : [];
  const together = plain("fieldset", { className: isBall ? "three" : "" }, plain("legend", {}, "Two of these three decide the third"), ...three, plain("div", { className: "told" }, follow, does),
    isBall ? heights : "");
  const shown = made.map((row) => (three.includes(row) ? row === three[0] && together : row)).filter(Boolean);
  if (of.name && what === "ball") put(inputs.name, known.copy);
  const values = () => {
    const now = Object.fromEntries(Object.entries(inputs).map(([blank, one]) => [blank, value(one)]));
    const stays = Object.keys(GROUPS).filter((group) => known.kept?.[group] && (NUMBERS.includes(group) || now[GROUPS[group]] === ""));
    return { now, said: { ...Object.fromEntries(Object.entries(now).filter(([blank]) => !stays.some((group) => GROUPS[group] === blank))), like: of.name || "", kept: stays, row: of.row } };
  };
  const heading = what === "change" ? `The ball ${of.name}` : of.name ? `A ball like ${of.name}` : title;
  const form = plain("form", {}, plain("h2", {}, heading), ...shown, wrong,
    plain("div", { className: "last keys" }, plain("button", { type: "submit" }, "Write it"), plain("button", { type: "button", onclick: () => box.close() }, "Change nothing")));
  let trying = 0;
  const stands = () => {
    const full = inputs.bounce.value !== "after a bounce", lob = full && inputs.level.value === "lob", overhead = lob || inputs.bounce.value === "overhead";
    if (overhead && !lob && !chosen.has("level") && !known.begin?.level) inputs.level.value = "high ball";
    const place = STANDS[lob ? "lob" : full ? inputs.bounce.value : inputs.depth.value];
    if (place && !of.name && !chosen.has("stance") && !chosen.has("stance_from")) [inputs.stance.value, inputs.stance_from.value] = place;
    if (full && !of.name && !chosen.has("met")) inputs.met.value = overhead ? 2.4 : 1.2;
  };
  const used = (event) => {
    const changed = event?.target?.name;
    if (changed) chosen.add(changed);
    if (["depth", "bounce", "level"].includes(changed)) stands();
    if (changed === "part" && inputs.part.value !== "balls") inputs.amount.value = inputs.part.value === "rest" ? 1 : 2;
    if (inputs.part && inputs.part.value !== "balls") inputs.measure.value = "min";
    if (changed === "pause" && inputs.pause.value === "collect") for (const one of [inputs.rest, inputs.before]) if (one?.value === "0") one.value = 120;
    if (isBall) follow.replaceChildren(...thirds(form.elements, chosen, changed, used));
    const { now } = values();
    if (isBall) heights.hidden = !known.heights.waist || now.bounce !== "after a bounce" || ["falling", "rising"].includes(now.level);
    for (const [blank, matters] of Object.entries(USED[what] || {})) {
      if (!inputs[blank]) continue;
      inputs[blank].disabled = !matters(now);
      for (const one of inputs[blank].className === "ticked" ? inputs[blank].querySelectorAll("input") : []) one.disabled = !matters(now);
    }
    if (inputs.rest && isBall) inputs.rest.disabled = inputs.pause.disabled ||= known.played.length < 3; // nothing comes before it
    for (const row of made) { // what is not used keeps its place, so that no field moves under a hand
      const all = [...row.querySelectorAll(":scope > .fields > .blank")];
      for (const one of all) one.classList.toggle("unused", one.firstChild.disabled);
      if (all.length) row.classList.toggle("unused", all.every((one) => one.firstChild.disabled));
    }
    for (const [blank, [low, high]] of isBall ? [["rpm", known.limits[now.turn] || []], ["pace", known.limits.pace || []]] : []) limit(inputs[blank], low, high);
    clearTimeout(trying);
    if (isBall) trying = setTimeout(work, RESTS);
  };
  const work = async () => {
    const found = box.open && form.isConnected && !follow.children.length && await ask("desk/try", { what, blanks: values().said });
    if (!found) return void does.replaceChildren();
    if (!("problem" in found || "does" in found)) return; // another one was asked for since
    does.replaceChildren(...(found.does ? [plain("p", {}, found.does)] : []), ...(found.against || []).map(([sign, words]) => plain("p", { className: sign === "\u25b2" || sign === "\u2715" ? "doubt" : "" }, `${sign} ${words}`.trim())),
      ...(found.problem ? [plain("p", { className: "doubt" }, worded(rows, found.problem))] : []));
  };
  form.oninput = used;
  used();
  form.onsubmit = async (event) => {
    event.preventDefault();
    const { edits, problem } = await ask("desk/add", { what, blanks: values().said });
    if (problem) return void (wrong.textContent = worded(rows, problem));
    if (what === "ball" || what === "part") kept[what] = Object.fromEntries(KEPT.filter((blank) => inputs[blank] && !inputs[blank].disabled).map((blank) => [blank, inputs[blank].value]));
    box.close();
    write(edits);
  };
  box.setAttribute("aria-label", heading);
  box.replaceChildren(form);
  box.showModal();
  const first = form.querySelector("input, select");
  first.focus(), first.select?.();
  return null;
}

// What this feeder gives, said beside the blank that asks for more or less.
function limit(made, low, high) {
  const beside = made.parentNode.querySelector("small");
  made.max = high === undefined ? "" : Math.floor(high);
  made.min = low ? Math.ceil(low) : "";
  beside.textContent = high === undefined || made.disabled ? "" : high < 1 ? "this feeder gives none" : low ? `this feeder: ${made.min} to ${made.max}` : `this feeder: up to ${made.max}`;
  beside.className = made.checkValidity() ? "" : "doubt";
}

// The server's words about a blank, with the words that stand in front of it here.
function worded(rows, problem) {
  const row = rows.find(([, ...fields]) => fields.some(([blank]) => problem.startsWith(`${blank} is `)));
  const words = row ? `\u201c${row[0]}\u201d${problem.slice(problem.indexOf(" is "))}` : `${problem[0].toUpperCase()}${problem.slice(1)}`;
  return `${words}.`;
}

function input(blank, kind, known, words) {
  if (kind === "ticked" || kind === "asking") {
    const all = kind === "ticked" ? [...known.balls, ...known.points] : known.balls;
    return plain("div", { className: "ticked" }, all.length ? "" : kind === "ticked" ? "No ball yet: add one first." : "No ball yet: each can name it later.", ...all.map((name) =>
      plain("label", {}, plain("input", { type: "checkbox", value: name, checked: all.length === 1 }), ` ${name}`)));
  }
  const made = typeof kind !== "string" ? plain("input", { name: blank, ...kind })
    : plain("select", { name: blank }, ...(none(blank, known) ? [plain("option", { value: "" }, none(blank, known))] : []),
      ...known[kind].map((text) => plain("option", { value: text }, said(blank, text, known))));
  made.setAttribute("aria-label", words);
  return made;
}

function put(made, now) {
  if (made.className === "ticked") for (const one of made.querySelectorAll("input")) one.checked = now.includes(one.value);
  else made.value = now;
}

function value(made) {
  if (made.className === "ticked") return [...made.querySelectorAll(":checked")].map((one) => one.value);
  return made.type === "number" ? made.valueAsNumber || 0 : made.value;
}

// Problems under their lines, each remedy a button that writes it. What it replaced stays below, struck through, until
// the next change.

import { StateEffect, StateField } from "@codemirror/state";
import { Decoration, EditorView, WidgetType } from "@codemirror/view";
import { plain } from "./elements.js";

const GRADES = { 1: ["error", "✕"], 2: ["warning", "▲"], 3: ["note", "○"], 4: ["next", "→"] };
// What a script lacks that has only begun is no error of whoever writes it.
const STEPS = {
  "feeds-missing": "add its first ball with \u201cAdd a ball\u201d.",
  "session-missing": "play a ball with \u201cAdd it to the session\u201d, or with \u201cAdd a block of the session\u201d.",
};
// Writes that what a warning tells is meant; set by the page, which speaks with the server.
export const meant = { accept: null };
const tell = StateEffect.define();
const replaced = StateEffect.define();
const want = StateEffect.define(); // a remedy that was asked for before it was known for this text: it is written once it is
let pointed = null; // where the mouse is over the script, and since when

class Problem extends WidgetType {
  // The remedies are for one text alone: a second click finds another one. Without a text they are those of an older
  // one, which stay in sight, so that nothing jumps, until the new ones are found.
  constructor(grade, words, mendings, doc) {
    super();
    Object.assign(this, { grade, words, mendings, doc });
  }
  eq(other) {
    return this.grade === other.grade && this.words === other.words && ((!this.mendings.length && !this.doc === !other.doc) || (this.doc && other.doc ? this.doc.eq(other.doc) : this.doc === other.doc))
      && this.mendings.map((m) => m.title).join() === other.mendings.map((m) => m.title).join();
  }
  toDOM(view) {
    const [grade, sign] = GRADES[this.grade] || GRADES[3];
    const [first, ...more] = this.words.split("\n");
    const sentences = [
      plain("p", {}, plain("span", { className: "sign", ariaHidden: "true" }, `${sign} `), plain("b", {}, `${grade}: `), first),
      ...more.map((words) => plain("p", {}, words)),
    ];
    if (!this.doc && !this.mendings.length && this.grade < 3) sentences.push(plain("p", { className: "looking" }, "Looking for a line that mends it."));
    const buttons = this.mendings.map((mending) =>
      plain("button", { type: "button", className: "mend", ariaDisabled: String(!this.doc),
        onclick: () => this.doc?.eq(view.state.doc) ? write(view, mending) : this.doc || view.dispatch({ effects: want.of((one) => one.words === this.words && one.action.title === mending.title) }) }, mending.title));
    const [, code] = /accept ([a-z]+(?:-[a-z]+)+)\u201d/.exec(this.words) || [];
    if (code) buttons.push(plain("button", { type: "button", className: "mend meant", onclick: () => meant.accept(code) }, "That is meant"));
    const made = plain("div", { className: `problem ${grade}` }, ...sentences, ...buttons);
    made.setAttribute("role", "group");
    made.setAttribute("aria-label", grade);
    return made;
  }
  ignoreEvent() {
    return true;
  }
}

class Before extends WidgetType {
  constructor(text) {
    super();
    this.text = text;
  }
  eq(other) {
    return this.text === other.text;
  }
  toDOM() {
    return plain("div", { className: "before" }, "before: ", plain("del", {}, this.text));
  }
}

export const problems = StateField.define({
  create: () => ({ marks: Decoration.none, mendings: null, wanted: null, found: new Map(), old: null }), // mendings: null while unknown
  update(value, change) {
    let { marks, mendings, wanted, found, old } = value;
    if (change.docChanged) {
      marks = marks.map(change.changes);
      mendings = wanted = null;
      old = null;
    }
    for (const effect of change.effects) {
      if (effect.is(replaced)) old = effect.value;
      if (effect.is(want)) wanted = effect.value;
      if (effect.is(tell)) ({ marks, mendings, found } = effect.value);
    }
    return { marks, mendings, wanted: mendings ? null : wanted, found, old };
  },
  provide: (field) => [
    EditorView.decorations.from(field, (value) => value.marks),
    EditorView.decorations.from(field, ({ old }) =>
      old ? Decoration.set([Decoration.widget({ widget: new Before(old.text), block: true, side: 1 }).range(old.at)])
        : Decoration.none),
  ],
});

export const graded = (diagnostics) => diagnostics.map((one) => (one.code in STEPS ? { ...one, severity: 4 } : one));

// `actions` are null while the remedies of the present text are not known yet.
export function told(view, diagnostics, actions) {
  const doc = view.state.doc, { found: before, wanted } = view.state.field(problems), known = new Map();
  const found = [];
  const mendings = actions && [];
  for (const one of diagnostics) {
    const from = offset(doc, one.range.start), to = Math.max(offset(doc, one.range.end), from);
    const own = actions ? actions.filter((action) => (action.diagnostics || []).some((d) => same(d, one))) : before.get(one.message) || [];
    const line = doc.lineAt(from);
    known.set(one.message, own);
    if (actions) mendings.push(...own.map((action) => ({ line: line.number, words: one.message, action })));
    const [grade] = GRADES[one.severity] || GRADES[3];
    if (to > from && one.severity < 4) found.push(Decoration.mark({ class: `at-fault ${grade}` }).range(from, to));
    const widget = new Problem(one.severity, one.severity < 4 ? one.message : STEPS[one.code], own, actions && doc);
    found.push(Decoration.widget({ widget, block: true, side: 1 }).range(line.to));
  }
  const first = wanted && mendings?.find(wanted);
  steady(view, () => view.dispatch({ effects: tell.of({ marks: Decoration.set(found, true), mendings, found: known }) }));
  if (first) write(view, first.action);
}

// The line under the mouse, else the one at the cursor, stays where it is while messages come and go.
function steady(view, change) {
  const mouse = pointed && performance.now() - pointed.when < 2000 ? view.posAtCoords(pointed) : null;
  const at = mouse ?? view.state.selection.main.head, before = view.coordsAtPos(at)?.top;
  change();
  view.requestMeasure({
    read: () => view.coordsAtPos(at)?.top - before,
    write: (moved) => { if (Math.abs(moved) > 1) view.scrollDOM.scrollTop += moved; },
  });
}

export const pointing = EditorView.domEventHandlers({
  mousemove: ({ clientX, clientY }) => void (pointed = { x: clientX, y: clientY, when: performance.now() }),
  keydown: () => void (pointed = null),
});

// The first remedy of the line at the cursor. The key writes nothing else, also where there is none.
export function mendFirst(view) {
  const line = view.state.doc.lineAt(view.state.selection.main.head).number;
  const here = (mending) => mending.line === line, { mendings } = view.state.field(problems);
  const first = mendings?.find(here);
  if (first) write(view, first.action);
  else if (!mendings) view.dispatch({ effects: want.of(here) });
  return true;
}

function write(view, action) {
  written(view, Object.values(action.edit.changes).flat());
  view.focus();
}

// Writes the server's edits; what stood there before stays in sight until the next change. Returns what has changed.
export function written(view, edits, told = true) {
  const doc = view.state.doc;
  const changes = edits.map(({ range, newText }) => ({
    from: offset(doc, range.start), to: offset(doc, range.end), insert: newText,
  }));
  const first = changes.find((change) => change.to > change.from); // what is only added replaces nothing
  const set = view.state.changes(changes);
  const old = told && first && {
    text: doc.sliceString(doc.lineAt(first.from).from, doc.lineAt(first.to).to).trim(),
    at: set.apply(doc).lineAt(set.mapPos(first.to, 1)).to,
  };
  const { head } = view.state.selection.main, within = changes.some(({ from, to }) => from <= head && head <= to && from < to);
  const selection = within ? { anchor: set.mapPos(head, 1) } : undefined; // one writes on behind what was written
  view.dispatch({ changes, selection, effects: old ? replaced.of(old) : [], userEvent: "input.mend" });
  return set;
}

const same = (one, other) => one.message === other.message && one.range.start.line === other.range.start.line
  && one.range.start.character === other.range.start.character;

export function offset(doc, { line, character }) {
  if (line >= doc.lines) return doc.length;
  const row = doc.line(line + 1);
  return Math.min(row.from + character, row.to);
}

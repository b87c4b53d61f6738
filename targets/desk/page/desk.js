// The desk: brings the parts together, and keeps what the user sees true to what the server knows.

import { EditorState, Prec } from "@codemirror/state";
import { EditorView, keymap, lineNumbers, highlightActiveLine, drawSelection } from "@codemirror/view";
import { defaultKeymap, history, historyKeymap, redo, undo } from "@codemirror/commands";
import { foldGutter, foldKeymap, indentUnit } from "@codemirror/language";
import { autocompletion, closeBrackets, completionKeymap } from "@codemirror/autocomplete";
import {
  LSPClient, findReferencesKeymap, formatDocument, formatKeymap, hoverTooltips, jumpToDefinitionKeymap, renameKeymap,
  serverCompletion,
} from "@codemirror/lsp-client";
import { beginning } from "./beginning.js";
import { blanks } from "./blanks.js";
import { byId, plain } from "./elements.js";
import { colours, coloured } from "./colours.js";
import { folding } from "./folding.js";
import { indentKeys, indenting } from "./indenting.js";
import { graded, meant, mendFirst, offset, pointing, problems, told, written } from "./problems.js";
import { Pictures } from "./pictures.js";
import { opened } from "./wire.js";

const saved = { text: null };
let view = null;
let client = null;
let file = null;
let diagnostics = [];

// The server's messages that this page acts on.
const hears = {
  "textDocument/publishDiagnostics": (_, params) => {
    if (!present(params)) return true;
    diagnostics = graded(params.diagnostics);
    told(view, diagnostics, null);
    counted();
    return true;
  },
  "desk/judged": (_, params) => (present(params) && judged(), true),
  "desk/changed": (_, params) => (otherProgram(params), true),
};

// Is it said of the text as it stands here?
function present({ version }) {
  const open = file && client.workspace.getFile(file.uri);
  return view && open && (version == null || version === open.version);
}

// All problems are told: then the picture, then the remedies, then the colours, and each only of the present text.
async function judged() {
  const text = view.state.doc;
  performance.mark("desk-problems");
  pictures.stale(diagnostics);
  try {
    await pictures.draw();
    if (view.state.doc.eq(text)) {
      const end = { line: text.lines, character: 0 };
      const found = diagnostics.length && await client.request("textDocument/codeAction", {
        textDocument: { uri: file.uri }, range: { start: { line: 0, character: 0 }, end }, context: { diagnostics },
      });
      if (view.state.doc.eq(text)) told(view, diagnostics, found || []);
    }
    if (view.state.doc.eq(text)) await coloured(client, view, file.uri);
  } catch {
    // The desk has stopped meanwhile, which is told, or the text is another one.
  }
}

// Writes what a button means, or tells why it cannot be written.
async function added(what, blanks, write = put) {
  const { edits, problem } = await client.request("desk/add", { what, blanks });
  if (problem) bar(`${problem[0].toUpperCase()}${problem.slice(1)}.`, ["Understood", () => bar()]);
  else write(edits);
}

meant.accept = (name) => added("accept", { name });

const pictures = new Pictures({
  form: (what, name) => add(what, { name }),
  add: (what, feed) => added(what, { name: feed }),
  ask: (params) => client.request("desk/picture", params).catch(() => null), // the desk has stopped
  begun: () => /^\s*feed\b/m.test(view.state.doc.toString()),
  play: () => client.request("desk/play", {}).catch(() => ({ session: null })),
  place: () => position(view.state.selection.main.head),
  write: async (params) => {
    const doc = view.state.doc;
    const { edits } = await client.request("desk/move", params);
    if (!edits.length || !view.state.doc.eq(doc)) return false;
    written(view, edits);
    return true;
  },
  go,
  goBlock,
});

function position(offset) {
  const line = view.state.doc.lineAt(offset);
  return { line: line.number - 1, character: offset - line.from };
}

// How many problems there are, and the way to the next one: to the errors first.
function counted() {
  const counts = [["error", 1], ["warning", 2], ["note", 3]].map(([word, grade]) => [word, diagnostics.filter((d) => d.severity === grade).length]);
  const words = counts.filter(([, count]) => count).map(([word, count]) => `${count} ${word}${count > 1 ? "s" : ""}`);
  const all = counts.reduce((sum, [, count]) => sum + count, 0);
  byId("next").textContent = all > 1 ? `${words.join(", ")}: show the next` : all ? `${words[0]}: show it` : "";
  byId("next").hidden = !all;
}

function next() {
  const worst = Math.min(...diagnostics.map((one) => one.severity));
  const lines = diagnostics.filter((one) => one.severity === worst).map((one) => one.range.start.line).sort((a, b) => a - b);
  const here = position(view.state.selection.main.head).line;
  if (lines.length) go(lines.find((line) => line > here) ?? lines[0]);
  view.focus();
}

// The cursor at the end of a line, where one writes on.
function go(line) {
  const at = view.state.doc.line(Math.min(line + 1, view.state.doc.lines));
  view.dispatch({ selection: { anchor: at.to }, effects: EditorView.scrollIntoView(at.to, { y: "center" }) });
}

// The same at the block of the session that says these words, or the last one that does: rounds play one often.
function goBlock(words, nth) {
  const lines = view.state.doc.toString().split("\n"), from = lines.findIndex((line) => line.startsWith("session"));
  const found = [...lines.keys()].filter((n) => n > from && lines[n].trim().startsWith(words));
  if (found.length) go(found[Math.min(nth, found.length - 1)]);
}

// Is the cursor on a block of the session? Only there its buttons are shown.
function blocked() {
  const { doc } = view.state, here = doc.lineAt(view.state.selection.main.head);
  let head = here.number;
  while (head > 1 && !/^\S/.test(doc.line(head).text)) head--;
  byId("block").hidden = !here.text.trim() || head === here.number || !doc.line(head).text.startsWith("session");
}

// ---- the file

function state() {
  const unsaved = view.state.doc.toString() !== saved.text;
  byId("state").textContent = unsaved ? "not saved" : "saved";
  document.title = `${unsaved ? "* " : ""}${file.name}`;
  return unsaved;
}

// The first save of a file that nobody has named asks for its name.
function save() {
  if (!file.unnamed) return write();
  const [, title = ""] = /^\s*program\s+"([^"]*)"/m.exec(view.state.doc.toString()) || [];
  const proposed = title.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "").slice(0, 40).replace(/-$/, "");
  const name = plain("input", { type: "text", name: "name", required: true, maxLength: 65, value: proposed ? `${proposed}.feed` : file.name });
  const box = byId("begin");
  box.setAttribute("aria-label", "Save");
  box.replaceChildren(plain("form", { onsubmit: (event) => (event.preventDefault(), box.close(), write(name.value.trim())) },
    plain("h2", {}, "Save"), plain("label", {}, "Name of the file ", name),
    plain("div", { className: "keys" }, plain("button", { type: "submit" }, "Save it"),
      plain("button", { type: "button", onclick: () => box.close() }, "Change nothing"))));
  box.showModal();
  name.select();
}

async function write(name) {
  const { doc } = view.state;
  if (doc.length && doc.line(doc.lines).length) view.dispatch({ changes: { from: doc.length, insert: "\n" } }); // a file ends with a line end
  const text = view.state.doc.toString();
  client.sync();
  const answer = await client.request("desk/save", { name }).catch(() => ({ problem: "Nothing was saved: the desk has stopped" }));
  if (answer.saved) {
    saved.text = text;
    Object.assign(file, { name: answer.name, unnamed: false });
    byId("name").textContent = file.name;
    bar();
    state();
  } else if (answer.changed) otherProgram(answer);
  else bar(`${answer.problem}.`);
}

function otherProgram({ text }) {
  if (text === view.state.doc.toString()) return void keep();
  const gone = text === null;
  bar(
    gone ? `${file.name} is no longer there.` : `Another program has changed ${file.name}.`,
    ...(gone ? [] : [["Take what it wrote", () => take(text)]]),
    ["Keep what is here", keep],
  );
}

// The text as a file of the browser's own, whether or not the desk still runs.
function copied() {
  const link = plain("a", { href: URL.createObjectURL(new Blob([view.state.doc.toString()], { type: "text/plain" })), download: file.name });
  link.click();
  URL.revokeObjectURL(link.href);
}

// ---- the keys: what is typed goes into the script

const written_on = (at) => at.closest("dialog, select, input:not([type=range]), [contenteditable]");

// A mouse that has pressed a button leaves the keys to the script; a key that has pressed one may press it again. A
// finger gets no keyboard that it did not ask for.
const back = () => matchMedia("(pointer: coarse)").matches || view.focus();
document.addEventListener("click", (event) => {
  if (view && event.detail && event.target.closest("button") && !byId("begin").open && !written_on(document.activeElement)) back();
});

// A letter belongs to the script wherever the keys went: no space of a sentence presses a button.
document.addEventListener("keydown", (event) => {
  const letter = event.key.length === 1 && event.key !== " " && !event.ctrlKey && !event.metaKey && !event.altKey;
  if (view && letter && !byId("begin").open && !written_on(event.target)) view.focus();
}, true);

// A click on a number takes the whole of it: what is typed then replaces it.
byId("begin").addEventListener("click", ({ target }) => target.matches("input[type=number]") && target.select());

byId("begin").addEventListener("close", () => byId("begin").open || back());

function replaced(text) {
  view.dispatch({ changes: { from: 0, to: view.state.doc.length, insert: text }, selection: { anchor: 0 } });
  view.focus();
}

function take(text) {
  replaced(text);
  saved.text = text;
  keep();
}

async function keep() {
  await client.request("desk/keep", {});
  bar();
  state();
}

function bar(words = "", ...buttons) {
  const made = buttons.map(([name, run]) => plain("button", { type: "button", onclick: run }, name));
  byId("bar").replaceChildren(plain("span", {}, words), ...made);
  byId("bar").hidden = !words;
}

// ---- the editor

const changes = EditorView.updateListener.of((update) => {
  if (update.docChanged) {
    client.sync(); // at once: the server waits until the text rests
    blocked();
    pictures.waiting();
    state();
  } else if (update.selectionSet) {
    pictures.session.pause();
    pictures.draw();
    blocked();
  }
});

function editor(text, extensions) {
  return new EditorView({
    parent: byId("words"),
    state: EditorState.create({
      doc: text,
      extensions: [
        EditorView.cspNonce.of(document.querySelector("meta[name=nonce]").content),
        EditorView.contentAttributes.of({ "aria-label": `Script ${file.name}`, "aria-describedby": "leaving" }),
        Prec.highest(keymap.of([{ key: "Alt-Enter", run: mendFirst }])),
        keymap.of([
          ...completionKeymap, ...renameKeymap, ...formatKeymap, ...jumpToDefinitionKeymap, ...findReferencesKeymap,
          ...historyKeymap, ...foldKeymap, ...indentKeys, ...defaultKeymap,
        ]),
        lineNumbers(), foldGutter(), history(), drawSelection(), highlightActiveLine(), closeBrackets(),
        EditorView.lineWrapping, indentUnit.of("    "), EditorState.tabSize.of(4),
        problems, pointing, colours, indenting, changes, ...extensions,
      ],
    }),
  });
}

async function start() {
  const line = await opened((words) => bar(words, ["Save a copy", copied]), () => (bar(), view && state()));
  client = new LSPClient({ notificationHandlers: hears, timeout: 20000 }).connect(line);
  await client.initializing;
  file = await client.request("desk/open", {});
  if (file.problem) return bar(`${file.problem}.`);
  byId("name").textContent = file.name;
  if (file.saved) saved.text = file.text;
  view = editor(file.text, [
    client.plugin(file.uri, "feed"), serverCompletion(),
    autocompletion({ selectOnOpen: false, icons: false }), // so that Enter ends the line until somebody moves in the list
    hoverTooltips(), folding(),
  ]);
  line.again(async () => {
    // The server was started anew: it gets the text that stands here.
    client.disconnect();
    client.connect(line);
    await client.initializing;
    await client.request("desk/open", {});
  });
  if (file.back) bar("What was typed last and not saved is back.", ["Understood", () => bar()]);
  state();
  view.focus();
  pictures.draw();
  if (file.unnamed && !file.saved && !file.back) begin(true); // nobody reads an example that is thrown away
}

byId("save").onclick = save;
byId("next").onclick = next;
const ask = (method, params) => client.request(method, params);
async function add(what, of) {
  client.sync();
  const problem = await blanks(what, ask, put, of);
  if (problem) bar(`${problem[0].toUpperCase()}${problem.slice(1)}.`, ["Understood", () => bar()]);
}

// Writes what a form or a button made, and shows it.
function put(edits) {
  const [first] = edits;
  const at = first && offset(view.state.doc, first.range.start), set = written(view, edits);
  if (first) go(view.state.doc.lineAt(set.mapPos(at, 1)).number - 1);
  view.focus();
}
const begin = (first) => beginning(ask, replaced, bar, () => add("ball"), first);
byId("anew").onclick = () => (bar(), begin(false));
for (const button of document.querySelectorAll("[data-add]")) button.onclick = () => add(button.dataset.add);
byId("part").onclick = () => add("block", { row: position(view.state.selection.main.head).line });
for (const button of document.querySelectorAll("[data-block]")) {
  button.onclick = () => {
    const row = position(view.state.selection.main.head).line;
    go(row);
    added(button.dataset.block, { row }, (edits) => (written(view, edits, false), view.focus()));
  };
}
for (const [name, path] of [["paper", "paper"], ["large", "paper-large"]]) {
  byId(name).onclick = () => window.open(path, "_blank", "noopener");
}
byId("undo").onclick = () => (undo(view), view.focus());
byId("redo").onclick = () => (redo(view), view.focus());
byId("tidy").onclick = () => (formatDocument(view), view.focus());
document.addEventListener("keydown", (event) => {
  if ((event.ctrlKey || event.metaKey) && event.key === "s") {
    event.preventDefault();
    if (!byId("begin").open) save();
  }
});
window.desk = { text: () => view && view.state.doc.toString(), view: () => view, client: () => client }; // for tests
start();

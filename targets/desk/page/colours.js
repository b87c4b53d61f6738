// Colours of words, as the server's grammar reads them.

import { StateEffect, StateField } from "@codemirror/state";
import { Decoration, EditorView } from "@codemirror/view";

const paint = StateEffect.define();

export const colours = StateField.define({
  create: () => Decoration.none,
  update(marks, change) {
    for (const effect of change.effects) if (effect.is(paint)) return effect.value;
    return marks.map(change.changes);
  },
  provide: (field) => EditorView.decorations.from(field),
});

export async function coloured(client, view, uri) {
  const doc = view.state.doc;
  const legend = client.serverCapabilities.semanticTokensProvider.legend.tokenTypes;
  const { data } = await client.request("textDocument/semanticTokens/full", { textDocument: { uri } });
  if (!view.state.doc.eq(doc)) return; // of a text that is gone
  const found = [];
  let line = 1, column = 0;
  for (let i = 0; i < data.length; i += 5) {
    if (data[i]) column = 0;
    line += data[i];
    column += data[i + 1];
    const from = doc.line(line).from + column;
    if (data[i + 2]) found.push(Decoration.mark({ class: `w-${legend[data[i + 3]]}` }).range(from, from + data[i + 2]));
  }
  view.dispatch({ effects: paint.of(Decoration.set(found, true)) });
}

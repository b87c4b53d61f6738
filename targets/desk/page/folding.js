// What folds away: a line with those that are indented under it, as the language is laid out.

import { foldService } from "@codemirror/language";

export function folding() {
  return foldService.of((state, start) => {
    const head = state.doc.lineAt(start);
    const deep = (line) => (/^\s*(#|$)/.test(line.text) ? null : line.text.search(/\S/));
    const depth = deep(head);
    let last = null;
    for (let n = head.number + 1; depth !== null && n <= state.doc.lines; n++) {
      const line = state.doc.line(n), own = deep(line);
      if (own !== null && own <= depth) break;
      if (own !== null) last = line;
    }
    return last && { from: head.to, to: last.to };
  });
}

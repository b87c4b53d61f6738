// A new line stands where the next sentence belongs: under a heading, else beside the line before. Tab moves lines in
// and out. Behind Escape it leaves the script, so that nobody is caught in it.

import { indentLess, indentMore } from "@codemirror/commands";
import { indentService } from "@codemirror/language";

const HEADS = /^(program|zone|variation|feed|point|session)\b|^\s+(\d+\s+rounds?|ladder)\b/;
const STEP = 4;

export const indenting = indentService.of((context, place) => {
  const { text } = context.lineAt(place, -1);
  return HEADS.test(text) ? text.search(/\S/) + STEP : null;
});

export const indentKeys = [{ key: "Tab", run: indentMore, shift: indentLess }];

// Builds desk.min.js, and LICENCES.txt with the licence of every package that is in it: npm ci && npm run build

import { build } from "esbuild";
import { createHash } from "node:crypto";
import { readdirSync, readFileSync, writeFileSync } from "node:fs";

// What it was built from stands in its first line, so that a test knows it without npm.
const own = readdirSync(".").filter((name) => /\.js$/.test(name) && name !== "desk.min.js").sort();
const digest = createHash("sha256");
for (const name of [...own, "package-lock.json"]) digest.update(readFileSync(name));

const made = await build({
  banner: { js: `// built from ${digest.digest("hex")}` },
  entryPoints: ["desk.js"], bundle: true, minify: true, format: "esm", target: "es2022", charset: "utf8",
  legalComments: "none", outfile: "desk.min.js", metafile: true,
});
const inputs = Object.values(made.metafile.outputs).flatMap((output) =>
  Object.entries(output.inputs).filter(([, { bytesInOutput }]) => bytesInOutput).map(([name]) => name));
const packages = new Set(inputs.map((name) => /^node_modules\/((?:@[^/]+\/)?[^/]+)\//.exec(name)?.[1]).filter(Boolean));
const parts = [...packages].sort().map((name) => {
  const folder = `node_modules/${name}/`;
  const { version } = JSON.parse(readFileSync(`${folder}package.json`, "utf8"));
  const file = readdirSync(folder).find((entry) => /^licen[cs]e/i.test(entry));
  return `${name} ${version}\n\n${readFileSync(folder + file, "utf8").trim()}\n`;
});
writeFileSync("LICENCES.txt", `desk.min.js holds code of these packages.\n\n${parts.join(`\n${"-".repeat(72)}\n\n`)}`);

// Write src/dose/constants_table.ts from api/dose/constants.json, where the numbers stand.
// `node scripts/generate_constants.mjs` writes it; `--print` shows it, for the test that demands
// that both say the same.
import { readFileSync, writeFileSync } from "node:fs";

const source = new URL("../../api/dose/constants.json", import.meta.url);
const target = new URL("../src/dose/constants_table.ts", import.meta.url);

const table = JSON.parse(readFileSync(source, "utf-8"));
const text =
  "// Generated from api/dose/constants.json by scripts/generate_constants.mjs. Do not edit.\n\n" +
  `export const TABLE = ${JSON.stringify(table, null, 2)} as const;\n`;

if (process.argv.includes("--print")) process.stdout.write(text);
else writeFileSync(target, text);

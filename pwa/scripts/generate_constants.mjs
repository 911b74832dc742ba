// Write the tables of src/dose from the JSON files of api/dose, where the numbers stand.
// `node scripts/generate_constants.mjs` writes them; `--print` shows them, for the test that
// demands that both say the same.
import { readFileSync, writeFileSync } from "node:fs";

for (const folder of ["", "hazard/"]) {
  const source = new URL(`../../api/dose/${folder}constants.json`, import.meta.url);
  const target = new URL(`../src/dose/${folder}constants_table.ts`, import.meta.url);
  const table = JSON.parse(readFileSync(source, "utf-8"));
  // What a number means, where it is from and its range are read where it stands.
  for (const entry of Object.values(table.numbers ?? {})) {
    for (const name of ["what", "source", "range"]) delete entry[name];
  }
  const text =
    `// Generated from api/dose/${folder}constants.json by scripts/generate_constants.mjs. Do not edit.\n\n` +
    `export const TABLE = ${JSON.stringify(table, null, 2)} as const;\n`;
  if (process.argv.includes("--print")) process.stdout.write(text);
  else writeFileSync(target, text);
}

// Write the tables of src/dose from the JSON files of api/dose, where the numbers stand.
// `node scripts/generate_constants.mjs` writes them; `--print` shows them, for the test that
// demands that both say the same.
import { readFileSync, writeFileSync } from "node:fs";

const TABLES = [
  { source: "constants.json", target: "constants_table.ts", name: "TABLE" },
  { source: "hazard/constants.json", target: "hazard/constants_table.ts", name: "TABLE" },
  { source: "published_settings.json", target: "published_table.ts", name: "PUBLISHED" },
];

for (const { source, target, name } of TABLES) {
  const table = JSON.parse(readFileSync(new URL(`../../api/dose/${source}`, import.meta.url), "utf-8"));
  // What a number means, where it is from and its range are read where it stands.
  for (const entry of Object.values(table.numbers ?? {})) {
    for (const field of ["what", "source", "range"]) delete entry[field];
  }
  const text =
    `// Generated from api/dose/${source} by scripts/generate_constants.mjs. Do not edit.\n\n` +
    `export const ${name} = ${JSON.stringify(table, null, 2)} as const;\n`;
  if (process.argv.includes("--print")) process.stdout.write(text);
  else writeFileSync(new URL(`../src/dose/${target}`, import.meta.url), text);
}

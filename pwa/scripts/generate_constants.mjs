// Write the tables of src/dose from the JSON files of api/dose, where the numbers stand.
// `node scripts/generate_constants.mjs` writes them; `--print` shows them, for the test that
// demands that both say the same.
import { readFileSync, writeFileSync } from "node:fs";

const TABLES = [
  { source: "constants.json", target: "constants_table.ts", name: "TABLE" },
  { source: "hazard/constants.json", target: "hazard/constants_table.ts", name: "TABLE" },
  { source: "published_settings.json", target: "published_table.ts", name: "PUBLISHED" },
];

const read = (source) => JSON.parse(readFileSync(new URL(`../../api/dose/${source}`, import.meta.url), "utf-8"));
const without = (entry, ...fields) => Object.fromEntries(Object.entries(entry).filter(([field]) => !fields.includes(field)));
const each = (entries, ...fields) => Object.fromEntries(Object.entries(entries).map(([name, entry]) => [name, without(entry, ...fields)]));

/** What the engines compute with: what a number means, how it is known and its range are left out. */
function computedWith(source) {
  const table = without(read(source), "formulas");
  if (table.numbers) table.numbers = each(table.numbers, "what", "source", "range", "status");
  if (table.water_extinction) table.water_extinction = without(table.water_extinction, "status");
  if (table.limits) table.limits = without(table.limits, "status");
  if (table.tissues) table.tissues = Object.fromEntries(Object.entries(table.tissues).map(([kind, properties]) => [kind, each(properties, "status")]));
  return table;
}

/** What a number rests on, of both engines: only a screen that opens a number reads it. */
function provenance() {
  const [dose, hazard] = [read("constants.json"), read("hazard/constants.json")];
  return {
    constants: {
      ...each({ ...dose.numbers, ...hazard.numbers }, "what", "range"),
      water_extinction: without(dose.water_extinction, "what", "ranges"),
      limits: without(hazard.limits, "eye", "skin"),
    },
    tissues: dose.tissues,
    formulas: { ...dose.formulas, ...hazard.formulas },
  };
}

const written = TABLES.map(({ source, target, name }) => ({ target, name, from: `api/dose/${source}`, table: computedWith(source) }));
written.push({ target: "provenance_table.ts", name: "PROVENANCE", from: "api/dose/constants.json and hazard/constants.json", table: provenance() });

for (const { target, name, from, table } of written) {
  const text =
    `// Generated from ${from} by scripts/generate_constants.mjs. Do not edit.\n\n` +
    `export const ${name} = ${JSON.stringify(table, null, 2)} as const;\n`;
  if (process.argv.includes("--print")) process.stdout.write(text);
  else writeFileSync(new URL(`../src/dose/${target}`, import.meta.url), text);
}

// Answer the requests of a file with the bundled TypeScript engine and compare with the answers
// that stand beside them. Prints {compared, refused, differences: [first few]}.
import { createReadStream } from "node:fs";
import { createInterface } from "node:readline";
import { pathToFileURL } from "node:url";

const [bundle, cases] = process.argv.slice(2);
const { respond, format_value, BadInput } = await import(pathToFileURL(bundle).href);

function near(a, b, size) {
  return a === b || Math.abs(a - b) <= 1e-9 * Math.max(Math.abs(a), Math.abs(b), size);
}

// `size`: the low end of an interval is a difference, as exact as its high end is large.
function differs(path, ours, theirs, size = 0) {
  if (typeof ours === "number" && typeof theirs === "number") {
    return near(ours, theirs, size) ? null : path;
  }
  if (ours === null || theirs === null || typeof ours !== "object" || typeof theirs !== "object") {
    return ours === theirs ? null : path;
  }
  const names = Object.keys(ours);
  if (names.join() !== Object.keys(theirs).join()) return `${path} (names)`;
  for (const name of names) {
    const high = name === "low" ? Math.abs(theirs.high) : 0;
    const found = differs(`${path}.${name}`, ours[name], theirs[name], high);
    if (found !== null) return found;
  }
  return null;
}

function sorted(errors) {
  return Object.fromEntries(Object.entries(errors).sort(([a], [b]) => (a < b ? -1 : 1)));
}

function shown(answer) {
  if (answer.dose === undefined) return [];
  const texts = [];
  for (const side of [answer.dose.set, answer.dose.delivered ?? {}]) {
    for (const [name, result] of Object.entries(side)) {
      for (const size of ["value", "low", "high"]) {
        if (typeof result?.[size] === "number") texts.push(format_value(name, result[size]));
      }
    }
  }
  return texts;
}

function answer(request) {
  try {
    const response = respond(request);
    return { response, shown: shown(response) };
  } catch (problem) {
    if (!(problem instanceof BadInput)) throw problem;
    return { errors: sorted(problem.errors) };
  }
}

let compared = 0;
let refused = 0;
const differences = [];
for await (const line of createInterface({ input: createReadStream(cases) })) {
  const { request, expected } = JSON.parse(line);
  const ours = answer(request);
  compared += 1;
  if (ours.errors) refused += 1;
  const path = differs("", ours, expected);
  if (path !== null && differences.length < 5) differences.push({ path, request, ours, expected });
}
process.stdout.write(JSON.stringify({ compared, refused, differences }));

// Answer the heat requests of a file with the bundled TypeScript engine.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const [module, requests] = process.argv.slice(2);
const { respond, BadInput } = await import(pathToFileURL(module).href);

function answer(request) {
  try {
    return { response: respond(request) };
  } catch (problem) {
    if (!(problem instanceof BadInput)) throw problem;
    return { errors: problem.errors };
  }
}

const asked = Object.entries(JSON.parse(readFileSync(requests, "utf-8")));
const answers = asked.map(([name, request]) => [name, answer(request)]);
process.stdout.write(JSON.stringify(Object.fromEntries(answers)));

// Single functions of the tablet's engine against the sheet of checks.
import { expect, test } from "vitest";
import vectors from "../../../tests/vectors/dose_functions.json";
import * as heating from "../../src/dose/heating";
import * as tissue from "../../src/dose/tissue";

type Work = (values: Record<string, number>) => number;
const MODULES: Record<string, Record<string, unknown>> = { heating, tissue };

const CALLS = vectors.cases.flatMap((entry) =>
  (entry.calls as unknown as { arguments: Record<string, number>; expected: number; over?: Record<string, number> }[])
    .map((call, place) => ({ ...entry, call, place })),
);

test.each(CALLS)("$id $function $place", ({ function: path, call, rel_tol }) => {
  const [module = "", name = ""] = path.split(".");
  const work = MODULES[module]?.[name] as Work;
  const value = work(call.arguments) / (call.over === undefined ? 1 : work(call.over));
  expect(Math.abs(value - call.expected)).toBeLessThanOrEqual(rel_tol * Math.abs(call.expected));
});

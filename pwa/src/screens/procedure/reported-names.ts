import { cases } from "../../dose/published";

/** The procedures that the published cases are about, each once. */
export function reportedProcedures(): string[] {
  return [...new Set(cases().map((one) => one.procedure))].sort();
}

/** What is asked about work on a laser. */
import type { FieldSpec, Section } from "../register/fields";

const power = (path: string): FieldSpec => ({ path, kind: "quantity", units: ["W", "mW"] });
export const WORK: readonly Section[] = [
  { id: "work", fields: [
    { path: "kind", kind: "choice", options: "work", required: true }, { path: "done_on", kind: "day", required: true, past: true },
    { path: "done_by", kind: "text", required: true, max: 400 }, { path: "what", kind: "note", required: true, max: 4000 }, { path: "parts", kind: "note", max: 4000 },
    { path: "restarts_trend", kind: "tick" }, { path: "released_by", kind: "choice", options: "person" }, { path: "next_due_on", kind: "day" }] },
  { id: "power", folded: true, fields: [
    power("power_before.expected"), power("power_before.measured"), power("power_after.expected"), power("power_after.measured")] },
];

/** What the history keeps of an entry's content: enough to tell it in a sentence. Pure; mirror of `api/records/said.py`. */

import { byText } from "./by_text";
import type { Change } from "./history";

type Tree = Record<string, unknown>;

/** Of every type the fields that a sentence about it needs; of all others, none. */
const KEPT: Readonly<Record<string, readonly string[]>> = {
  "procedure.opened": ["procedure", "site", "handpiece"],
  "timeout.answered": ["title"],
  "list.answered": ["kind", "title"],
  "pass.started": ["pass_id", "number", "settings", "handpiece"],
  "laser.emitted": ["pass_id", "laser_on_time", "source", "pulses"],
  "procedure.noted": ["text"],
  "procedure.paused": ["reason"],
  "procedure.handed_over": ["role", "from_id", "to_id", "note"],
  "operator.accepted": ["operator_id", "reason"],
  "service.overridden": ["causes", "reason"],
  "protection.noted": ["heads"],
  "attachment.added": ["caption"],
  "procedure.ended": ["ended_at"],
  "entry.withdrawn": ["reason"],
  "record.signed": ["signer_id", "role"],
  "record.addended": ["reason"],
  "record.placed_in_chart": ["how", "version", "note"],
  "record.removed_from_chart": ["note"],
  "record.reattributed": ["to", "reason"],
  "record.voided": ["reason"],
};
/** Worked out from the rest, and different with every engine. */
const DERIVED: readonly string[] = ["dose"];

/** The kept fields of a payload; null where the content was erased. */
export function saidOf(type: string, payload: Tree | null): Tree | null {
  if (payload === null) return null;
  return Object.fromEntries((KEPT[type] ?? []).map((name) => [name, payload[name] ?? null]));
}

/** What `now` says otherwise than `was`, by dotted path. */
export function changesOf(was: Tree | null | undefined, now: Tree | null): Change[] {
  if (was == null || now === null) return [];
  const [before, after] = [leaves(was), leaves(now)];
  return [...new Set([...before.keys(), ...after.keys()])].sort(byText)
    .map((path) => ({ path, was: before.get(path) ?? null, now: after.get(path) ?? null }))
    .filter((change) => change.was !== change.now);
}

function leaves(payload: Tree): Map<string, unknown> {
  const found = new Map<string, unknown>();
  const walk = (value: unknown, path: string): void => {
    if (value !== null && typeof value === "object") {
      for (const [name, inner] of Object.entries(value)) walk(inner, path === "" ? name : `${path}.${name}`);
    } else {
      found.set(path, value);
    }
  };
  walk(Object.fromEntries(Object.entries(payload).filter(([name]) => !DERIVED.includes(name))), "");
  return found;
}

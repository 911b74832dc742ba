/** The dose of one pass, as a record keeps it: plain numbers by name. Mirror of `api/records/doses.py`. */

import { respond } from "../dose/evaluate";

export interface PassDose {
  engine: string | null;
  set: Record<string, number>;
  delivered: Record<string, number> | null;
  basis: string | null;
  absent: Record<string, string>;
}

interface Answer {
  engine: string;
  dose: { set: Record<string, unknown>; delivered: Record<string, unknown> | null };
  absent: Record<string, string>;
}

/** A record is folded again at every tap; its earlier passes have not changed. */
const kept = new Map<string, PassDose>();
const KEPT_AT_MOST = 256;

/** The dose of a pass's settings in the contract's result units; throws where they cannot be evaluated. */
export function passDose(settings: object): PassDose {
  const text = JSON.stringify(settings);
  let dose = kept.get(text);
  if (dose === undefined) {
    const answer = respond(settings as never) as unknown as Answer;
    const { set, delivered } = answer.dose;
    dose = {
      engine: answer.engine,
      set: numbers(set),
      delivered: delivered === null ? null : numbers(delivered),
      basis: delivered === null ? null : plain(delivered["basis"]),
      absent: { ...answer.absent },
    };
    if (kept.size >= KEPT_AT_MOST) kept.clear();
    kept.set(text, dose);
  }
  return structuredClone(dose);
}

function numbers(results: Record<string, unknown>): Record<string, number> {
  const found: Record<string, number> = {};
  for (const [name, result] of Object.entries(results)) {
    const value = (result as { value?: unknown } | null)?.value;
    if (typeof value === "number") found[name] = value;
  }
  return found;
}

function plain(result: unknown): string | null {
  if (typeof result === "string") return result;
  const value = (result as { value?: unknown } | null | undefined)?.value;
  return typeof value === "string" ? value : null;
}

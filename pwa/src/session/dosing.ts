/** The dose of settings, and what the laser's declared limits say to them. */
import { respond } from "../dose/evaluate";
import { check_limits } from "../dose/limits";
import type { Device, Settings } from "./types";

export interface Result { value?: number; low?: number; high?: number; unit: string; formula: string; sources: string[]; note?: string }
export type SideIntervals = Record<string, { low: number; high: number; unit: string } | "not stated">;
export interface DoseResponse {
  engine: string;
  dose: { set: Record<string, Result>; delivered: Record<string, Result> | null };
  absent: Record<string, string>;
  contradictions: unknown[];
  warnings: { code: string; text: string; sources: string[] }[];
  /** Where the stated uncertainties of the inputs put a result; "not stated" where one of them is not. */
  intervals: { coverage_factor: number; set: SideIntervals; delivered: SideIntervals | null };
}
export type DoseOutcome =
  | { ok: true; response: DoseResponse }
  | { ok: false; errors: Record<string, string[]> };

/** Evaluate settings; what cannot be read comes back by field, never as a guess. The answer is not to be changed. */
export function doseOf(settings: Settings): DoseOutcome {
  return remembered(outcomes, JSON.stringify(settings), () => evaluated(settings));
}

/**
 * A screen draws the same settings, and where each plus and minus would lead, several times at every
 * tap; as many are kept as two cases and a plan ask for.
 */
const AT_MOST = 200;
const outcomes = new Map<string, DoseOutcome>();
const refused = new Map<string, Record<string, string>>();

function remembered<T>(kept: Map<string, T>, key: string, make: () => T): T {
  const known = kept.get(key);
  if (known !== undefined) return known;
  const made = make();
  if (kept.size >= AT_MOST) kept.delete(kept.keys().next().value!);
  kept.set(key, made);
  return made;
}

function evaluated(settings: Settings): DoseOutcome {
  try {
    return { ok: true, response: respond(settings as never) as unknown as DoseResponse };
  } catch (error) {
    const errors = (error as { errors?: Record<string, string[]> }).errors;
    if (!errors) throw error;
    return { ok: false, errors };
  }
}

/** What the device's declared limits refuse, in words, by field path. */
export function refusals(settings: Settings, device: Device): Record<string, string> {
  return remembered(refused, JSON.stringify([settings, device.limits]), () => asked(settings, device));
}

function asked(settings: Settings, device: Device): Record<string, string> {
  try {
    return check_limits(settings as never, device.limits as never) as Record<string, string>;
  } catch (error) {
    const { errors, code, message } = error as { errors?: Record<string, string[]>; code?: string; message: string };
    if (!errors) throw error;
    // Unreadable settings are named by doseOf; an unreadable limit is the laser's entry, and a
    // laser whose limits are unknown is never taken for one without limits.
    return code === "bad_limit" ? { "emission.power": message } : {};
  }
}

/** The dose as a pass carries it: decimal strings in the contract's result units. */
export function doseForEvent(response: DoseResponse): { engine: string; set: Record<string, string>; delivered: Record<string, string> | null } {
  const plain = (results: Record<string, Result>) => Object.fromEntries(
    Object.entries(results)
      .filter(([, r]) => typeof r?.value === "number")
      .map(([name, r]) => [name, String(r.value)]));
  const { set, delivered } = response.dose;
  return { engine: response.engine, set: plain(set), delivered: delivered ? plain(delivered) : null };
}

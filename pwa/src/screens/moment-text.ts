/** Moments as a browser's own control writes them: "2026-11-25T10:15" by the clock on the location's wall. */
import { rfc3339 } from "../events/times";
import { wallOffsetMinutes } from "../parts/dates";

/** What the control says, with its offset; null where it says no moment. */
export function momentOf(text: string): string | null {
  const as_utc = text ? Date.parse(`${text}Z`) : NaN;
  if (Number.isNaN(as_utc)) return null;
  // The offset of the moment itself, which a change of the clocks may have moved by then.
  const near = as_utc - wallOffsetMinutes(as_utc) * 60_000;
  const ms = as_utc - wallOffsetMinutes(near) * 60_000;
  return rfc3339(ms, wallOffsetMinutes(ms));
}

/** A moment as the control takes it; nothing where it is none. */
export function localOf(at: string): string {
  const ms = Date.parse(at);
  return Number.isNaN(ms) ? "" : rfc3339(ms, wallOffsetMinutes(ms)).slice(0, 16);
}

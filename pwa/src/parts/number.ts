/** Reads a number as a person types it, with a decimal point or comma, and never guesses. */

export type ReadNumber =
  | { kind: "empty" }
  /** `unit` is there only where it was typed behind the number. */
  | { kind: "number"; text: string; unit?: string }
  /** One separator and exactly three digits: 1,500 may be one and a half or fifteen hundred. */
  | { kind: "ask"; decimal: string; thousands: string; unit?: string }
  /** On the way to a number: "4." is not yet one. */
  | { kind: "unfinished" }
  /** A number, and behind it something that is no unit of this field. */
  | { kind: "unit"; unit: string }
  | { kind: "unreadable" };

/** What stands in a field: as it was typed, or (`sure`) a plain decimal that this program put there. */
export interface Typed { raw: string; unit: string; sure?: true }

/** What a field means. A number that nobody typed is never asked about, whatever its digits are. */
export function readTyped(typed: Typed, units: readonly string[] = [typed.unit]): ReadNumber {
  return typed.sure ? { kind: "number", text: typed.raw } : readNumber(typed.raw, units);
}

const FULL_WIDTH_ZERO = 0xff10;
const PARTS = /^([\d.,\s]*?)\s*([^\d.,\s].*)?$/u;
const PLAIN = /^\d+$/;
/** Blanks part thousands in the international way of writing; nothing else may stand apart. */
const SPACED = /^[1-9]\d{0,2}(?:\s\d{3})+(?=$|[.,])/;
const ONE_SEPARATOR = /^(\d*)[.,](\d+)$/;
const UNFINISHED = /^\d*[.,]$/;

/**
 * Read `raw` into a decimal string in the contract's grammar, and the unit behind it if it is one
 * of `units` (plain letters: "us" is met by the micro sign and by the Greek mu, too).
 *
 * A lone separator followed by exactly three digits is asked about unless what stands before it
 * rules thousands out: nothing, a leading zero, or more than three digits. Exponents, signs and
 * digits of other scripts are refused; full-width digits are those of some keyboards, and are read.
 */
export function readNumber(raw: string, units: readonly string[] = []): ReadNumber {
  const typed = narrow(raw).trim();
  if (typed === "") return { kind: "empty" };
  const parts = PARTS.exec(typed);
  if (!parts) return { kind: "unreadable" };
  const read = readDigits((parts[1] ?? "").trim());
  const unit = parts[2] === undefined ? undefined : plainUnit(parts[2]);
  if (unit === undefined) return read;
  if (read.kind !== "number" && read.kind !== "ask") return { kind: "unreadable" };
  if (units.includes(unit)) return { ...read, unit };
  // "1e3" and "4 5 W" are no numbers with a unit behind them.
  return /[\d.,]/.test(unit) || units.length === 0 ? { kind: "unreadable" } : { kind: "unit", unit: parts[2]! };
}

function readDigits(typed: string): ReadNumber {
  if (UNFINISHED.test(typed)) return { kind: "unfinished" };
  const digits = typed.replace(SPACED, (group) => group.replace(/\s/g, ""));
  if (PLAIN.test(digits)) return { kind: "number", text: trimZeros(digits) };
  const match = ONE_SEPARATOR.exec(digits);
  if (!match) return { kind: "unreadable" };
  const whole = match[1] ?? "";
  const rest = match[2] ?? "";
  const decimal = `${trimZeros(whole || "0")}.${rest}`;
  const couldBeThousands = rest.length === 3 && /^[1-9]\d{0,2}$/.test(whole);
  if (couldBeThousands) return { kind: "ask", decimal, thousands: whole + rest };
  return { kind: "number", text: decimal };
}

/** Full-width digits, comma and stop as plain ones. Nothing else is folded: "²" is not a 2. */
function narrow(raw: string): string {
  return raw
    .replace(/[\uff10-\uff19]/g, (digit) => String(digit.charCodeAt(0) - FULL_WIDTH_ZERO))
    .replace(/\uff0c/g, ",").replace(/\uff0e/g, ".");
}

function plainUnit(unit: string): string {
  return unit.trim().replace(/^[\u00b5\u03bc](?=[A-Za-z])/, "u");
}

function trimZeros(digits: string): string {
  return digits.replace(/^0+(?=\d)/, "");
}

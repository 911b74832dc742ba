/** Reads a number as a person types it, with a decimal point or comma, and never guesses. */

export type ReadNumber =
  | { kind: "empty" }
  | { kind: "number"; text: string }
  /** One separator and exactly three digits: 1,500 may be one and a half or fifteen hundred. */
  | { kind: "ask"; decimal: string; thousands: string }
  | { kind: "unreadable" };

const PLAIN = /^\d+$/;
const ONE_SEPARATOR = /^(\d*)[.,](\d+)$/;

/**
 * Read `raw` into a decimal string in the contract's grammar.
 *
 * A lone separator followed by exactly three digits is asked about unless what stands before it
 * rules thousands out: nothing, a leading zero, or more than three digits.
 */
export function readNumber(raw: string): ReadNumber {
  const typed = raw.replace(/\s/g, "");
  if (typed === "") return { kind: "empty" };
  if (PLAIN.test(typed)) return { kind: "number", text: trimZeros(typed) };
  const match = ONE_SEPARATOR.exec(typed);
  if (!match) return { kind: "unreadable" };
  const whole = match[1] ?? "";
  const rest = match[2] ?? "";
  const decimal = `${trimZeros(whole || "0")}.${rest}`;
  const couldBeThousands = rest.length === 3 && /^[1-9]\d{0,2}$/.test(whole);
  if (couldBeThousands) return { kind: "ask", decimal, thousands: whole + rest };
  return { kind: "number", text: decimal };
}

function trimZeros(digits: string): string {
  return digits.replace(/^0+(?=\d)/, "");
}

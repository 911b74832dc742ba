// Write a result for a person: three significant digits, a readable prefix, the unit. Works on the
// decimal digits, as api/dose/display.py does, so that both print the same characters.
import { DISPLAY, resultEntry } from "./constants";

interface Decimal {
  negative: boolean;
  /** Significant digits without zeros around; empty for zero. */
  digits: string;
  /** The power of ten of the first digit; it means nothing where there is none. */
  exponent: number;
}

function toDecimal(value: number): Decimal {
  const [mantissa = "", power = "0"] = String(Math.abs(value)).split("e");
  const [whole = "", fraction = ""] = mantissa.split(".");
  const all = whole + fraction;
  const stripped = all.replace(/^0+/, "");
  const digits = stripped.replace(/0+$/, "");
  const exponent = whole.length - 1 + Number(power) - (all.length - stripped.length);
  return { negative: value < 0, digits, exponent };
}

function rounded({ negative, digits, exponent }: Decimal, count: number): Decimal {
  if (digits.length <= count) return { negative, digits, exponent };
  let kept = digits.slice(0, count);
  let first = exponent;
  if ((digits[count] ?? "0") >= "5") {
    const raised = String(Number(kept) + 1);
    first += raised.length - count;
    kept = raised;
  }
  return { negative, digits: kept.replace(/0+$/, ""), exponent: first };
}

function plain({ negative, digits, exponent }: Decimal): string {
  const sign = negative ? "-" : "";
  if (digits === "") return "0";
  if (exponent < 0) return `${sign}0.${"0".repeat(-exponent - 1)}${digits}`;
  if (digits.length <= exponent + 1) return sign + digits.padEnd(exponent + 1, "0");
  return `${sign}${digits.slice(0, exponent + 1)}.${digits.slice(exponent + 1)}`;
}

function shortened(value: number, count: number): Decimal {
  return rounded(rounded(toDecimal(value), DISPLAY.noise_digits), count);
}

/** Return a number with at most this many significant digits. */
export function format_number(value: number, digits = DISPLAY.significant_digits): string {
  return plain(shortened(value, digits));
}

/** Return a result with its unit: value in the result's unit of the contract. */
export function format_value(name: string, value: number): string {
  const { unit } = resultEntry(name);
  if (DISPLAY.whole.includes(name)) return format_number(value, DISPLAY.noise_digits);
  const scale = DISPLAY.scales[DISPLAY.as_percent.includes(name) ? "%" : unit] ?? [];
  const short = shortened(value, DISPLAY.significant_digits);
  const step =
    short.digits === ""
      ? scale.find(({ shift }) => shift === 0 || shift === 2)
      : scale.find(({ from }) => short.exponent >= from);
  if (step === undefined) return plain(short);
  const number = plain({ ...short, exponent: short.exponent + step.shift });
  return step.label === "" ? number : `${number} ${step.label}`;
}

/**
 * What a power verification says, exactly as the server works it out: mirror of
 * `api/devices/verification.py`. Pure. In whole numbers throughout: a ratio that lies on a limit must
 * not fall on either side by the way a binary fraction rounds.
 */

export type Verdict = "ok" | "warn" | "fail";

export interface SettingRead {
  /** The average power that the setting means [W], as decimal text. */
  expected_w: string;
  /** What the meter showed [W], as decimal texts; at least one. */
  measured_w: readonly string[];
}

export interface Verified {
  /** Mean of the settings' ratios [1], to four places, as all ratios here. */
  ratio: string;
  /** Relative standard uncertainty of it, k = 1 [1]. */
  ratio_uncertainty: string;
  setting_ratios: string[];
  verdict: Verdict;
  /** What falls short of the house's rule for a check, as codes. */
  remarks: string[];
}

/** 21 CFR 1040.11(a) asks 20 % of a medical laser's own power indication (read in secondary copies); 10 % is the house's own choice. */
export const RULE = "fail above 0.20 with uncertainty, warn above 0.10";
export const LEAST_SETTINGS = 2;
export const LEAST_READINGS = 3;

/** Over is any whole number, under is above 0. */
interface Exact { over: bigint; under: bigint }

const FAIL_ABOVE: Exact = { over: 1n, under: 5n };
const WARN_ABOVE: Exact = { over: 1n, under: 10n };
const ONE: Exact = { over: 1n, under: 1n };
const SEVERITY: readonly Verdict[] = ["ok", "warn", "fail"];

/** Read plain decimal text, 0 or more. Throws `RangeError` for anything else. */
export function exact(text: string): Exact {
  const parts = /^(\d+)(?:\.(\d*))?$/.exec(text);
  if (!parts) throw new RangeError(`not a decimal number: ${text}`);
  const places = parts[2] ?? "";
  return { over: BigInt(parts[1]! + places), under: 10n ** BigInt(places.length) };
}

/** The verdict about a ratio [1], with the meter's relative uncertainty, k = 2 [1], as guard band. */
export function judge(ratio: string, meter_uncertainty: string): Verdict {
  return judged(exact(ratio), exact(meter_uncertainty));
}

/** Work out a verification; the worst verdict of settings and mean stands. An expected power of 0 is a `RangeError`. */
export function workOut(readings: readonly SettingRead[], meter_uncertainty: string): Verified {
  if (readings.length === 0 || readings.some(({ measured_w }) => measured_w.length === 0)) throw new RangeError("no readings");
  const meter = exact(meter_uncertainty);
  let spread: Exact = { over: 0n, under: 1n };
  const ratios = readings.map(({ expected_w, measured_w }) => {
    const measured = measured_w.map(exact);
    const mean = over(total(measured), BigInt(measured.length));
    spread = plus(spread, errorOfMeanSquared(mean, measured));
    return divided(mean, exact(expected_w));
  });
  const count = BigInt(ratios.length);
  const ratio = over(total(ratios), count);
  const half = over(meter, 2n);
  const verdicts = [...ratios, ratio].map((one) => judged(one, meter));
  return {
    ratio: fourPlaces(ratio),
    ratio_uncertainty: rootToFourPlaces(plus(times(half, half), over(spread, count * count))),
    setting_ratios: ratios.map(fourPlaces),
    verdict: SEVERITY[Math.max(...verdicts.map((one) => SEVERITY.indexOf(one)))]!,
    remarks: remarksOf(readings.map(({ measured_w }) => measured_w.length)),
  };
}

/** In what the amount of readings falls short of the house's rule. */
export function remarksOf(readings_per_setting: readonly number[]): string[] {
  return [
    ...(readings_per_setting.length < LEAST_SETTINGS ? ["too_few_settings"] : []),
    ...(readings_per_setting.some((count) => count < LEAST_READINGS) ? ["too_few_readings"] : []),
  ];
}

function judged(ratio: Exact, meter: Exact): Verdict {
  const off = minus(ratio, ONE);
  const error = plus({ ...off, over: off.over < 0n ? -off.over : off.over }, meter);
  if (above(error, FAIL_ABOVE)) return "fail";
  return above(error, WARN_ABOVE) ? "warn" : "ok";
}

/** Relative variance of the mean; one reading alone says nothing about spread. */
function errorOfMeanSquared(mean: Exact, measured: readonly Exact[]): Exact {
  const count = BigInt(measured.length);
  if (count < 2n || mean.over === 0n) return { over: 0n, under: 1n };
  const squares = total(measured.map((one) => { const off = minus(one, mean); return times(off, off); }));
  return divided(over(squares, (count - 1n) * count), times(mean, mean));
}

const plus = (a: Exact, b: Exact): Exact => reduced(a.over * b.under + b.over * a.under, a.under * b.under);
const minus = (a: Exact, b: Exact): Exact => plus(a, { ...b, over: -b.over });
const times = (a: Exact, b: Exact): Exact => reduced(a.over * b.over, a.under * b.under);
const over = (a: Exact, whole: bigint): Exact => reduced(a.over, a.under * whole);
const above = (a: Exact, b: Exact): boolean => a.over * b.under > b.over * a.under;
const total = (all: readonly Exact[]): Exact => all.reduce(plus, { over: 0n, under: 1n });

function divided(a: Exact, b: Exact): Exact {
  if (b.over <= 0n) throw new RangeError("the expected power must be above 0");
  return reduced(a.over * b.under, a.under * b.over);
}

function reduced(over: bigint, under: bigint): Exact {
  let [a, b] = [over < 0n ? -over : over, under];
  while (b > 0n) [a, b] = [b, a % b];
  return a > 1n ? { over: over / a, under: under / a } : { over, under };
}

const PLACES = 4;
const PER_UNIT = 10n ** BigInt(PLACES);

function written(ten_thousandths: bigint): string {
  const digits = ten_thousandths.toString().padStart(PLACES + 1, "0");
  return `${digits.slice(0, -PLACES)}.${digits.slice(-PLACES)}`;
}

/** Halves go to the even digit, as the server's decimals do. */
function fourPlaces({ over, under }: Exact): string {
  const scaled = over * PER_UNIT;
  const whole = scaled / under;
  const twice = 2n * (scaled % under);
  return written(twice > under || (twice === under && whole % 2n === 1n) ? whole + 1n : whole);
}

function rootToFourPlaces({ over, under }: Exact): string {
  const scaled = over * PER_UNIT * PER_UNIT;
  const whole = wholeRoot(scaled / under);
  // Up where the root is beyond the half: (2 whole + 1)^2 / 4 below the scaled square.
  const half = 2n * whole + 1n;
  return written(half * half * under < 4n * scaled ? whole + 1n : whole);
}

/** The whole part of a square root, by Newton's steps from above. */
function wholeRoot(square: bigint): bigint {
  if (square < 2n) return square;
  let root = 1n << BigInt(Math.ceil(square.toString(2).length / 2));
  for (;;) {
    const next = (root + square / root) / 2n;
    if (next >= root) return root;
    root = next;
  }
}

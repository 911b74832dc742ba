// A simulation's beam over time: stretches of even irradiance, and the steps through them; see
// api/dose/heat_train.py.
import type { DoseInput } from "./request";
import type { KnownValues } from "./solver";

/** Pulses of even power, in gates or not; a continuous beam is one pulse that does not end. */
export interface Train {
  power_w: number;
  pulse_s: number;
  period_s: number | null;
  gate_s: number | null;
  gate_period_s: number | null;
}

/** A time with one power on the surface; `starts_pulse` as a pulse does. */
export interface Stretch {
  duration_s: number;
  power_w: number;
  starts_pulse: boolean;
}

/** Return the train of a solved emission at its tissue, or null where something is lacking. */
export function trainFrom(given: DoseInput, known: KnownValues): Train | null {
  const { gate_on, gate_off } = given.emission;
  let gates: Pick<Train, "gate_s" | "gate_period_s"> = { gate_s: null, gate_period_s: null };
  if (given.mode === "gated") {
    if (gate_on === undefined || gate_off === undefined) return null;
    gates = { gate_s: gate_on, gate_period_s: gate_on + gate_off };
  }
  const value = (name: string): number | undefined => known.get(name)?.value;
  const energy = value("pulse_energy_j");
  const duration = value("pulse_duration_s");
  const period = value("pulse_period_s");
  if (energy !== undefined && duration !== undefined && period !== undefined) {
    const pulse_s = Math.min(duration, period);
    return { power_w: energy / duration, pulse_s, period_s: period, ...gates };
  }
  const endless = { pulse_s: Infinity, period_s: null, ...gates };
  if (given.mode === "continuous") {
    const power_w = value("average_power_w");
    return power_w === undefined ? null : { power_w, ...endless };
  }
  const power_w = value("peak_power_w");
  const unpulsed = duration === undefined && period === undefined;
  return given.mode === "gated" && power_w !== undefined && unpulsed ? { power_w, ...endless } : null;
}

/** The power averaged over pulses and gates. */
export function meanPower(train: Train): number {
  let power = train.power_w;
  if (train.period_s !== null) power *= train.pulse_s / train.period_s;
  if (train.gate_s !== null && train.gate_period_s !== null) {
    power *= train.gate_s / train.gate_period_s;
  }
  return power;
}

/** About how many pulses, or gates of a continuous beam, start in the time. */
export function pulseCount(train: Train, duration_s: number): number {
  const gates = train.gate_period_s === null ? 1 : duration_s / train.gate_period_s;
  const open_s = train.gate_s === null ? duration_s : Math.min(train.gate_s, duration_s);
  const pulses = train.period_s === null ? 1 : open_s / train.period_s;
  return Math.max(gates, 1) * Math.max(pulses, 1);
}

/** A continuous beam of the same mean power, for trains of too many pulses. */
export function averaged(train: Train): Train {
  return {
    power_w: meanPower(train), pulse_s: Infinity, period_s: null, gate_s: null, gate_period_s: null,
  };
}

/** Yield the beam over time, from its first pulse to the end of the time. */
export function* stretches(train: Train, duration_s: number): Generator<Stretch> {
  const least = 1e-9 * duration_s;
  const { power_w } = train;
  for (let gate = 0; ; gate += 1) {
    const opens = gate * (train.gate_period_s ?? 0);
    if (opens >= duration_s - least) return;
    const shuts = train.gate_s === null ? duration_s : Math.min(opens + train.gate_s, duration_s);
    for (let pulse = 0; ; pulse += 1) {
      const starts = opens + pulse * (train.period_s ?? 0);
      if (starts >= shuts - least) break;
      const ends = Math.min(starts + train.pulse_s, shuts);
      yield { duration_s: ends - starts, power_w, starts_pulse: true };
      const follows = train.period_s === null ? shuts : Math.min(starts + train.period_s, shuts);
      if (follows - ends > least) {
        yield { duration_s: follows - ends, power_w: 0, starts_pulse: false };
      }
      if (train.period_s === null) break;
    }
    if (train.gate_period_s === null) return;
    const again = Math.min((gate + 1) * train.gate_period_s, duration_s);
    if (again - shuts > least) yield { duration_s: again - shuts, power_w: 0, starts_pulse: false };
  }
}

/** Return steps that grow from about `first_s` to at most `most_s` and fill the time. */
export function steps(
  duration_s: number,
  { first_s, most_s, growth }: { first_s: number; most_s: number; growth: number },
): number[] {
  let step = Math.min(first_s, duration_s);
  const most = Math.max(most_s, first_s);
  const grown: number[] = [];
  let left = duration_s;
  while (step < most && left > step) {
    grown.push(step);
    left -= step;
    step = Math.min(step * growth, most);
  }
  // 1e-9: what rounding leaves of the time is no step.
  const count = left > 1e-9 * duration_s ? Math.max(1, Math.ceil(left / step - 1e-9)) : 0;
  for (let place = 0; place < count; place += 1) grown.push(left / count);
  return grown;
}

// What one pulse of a train may carry; see api/dose/hazard/train.py.
import { number } from "./constants";
import { EU_2006 } from "./editions";
import { is_retinal, is_thermal, limit_fluence_j_m2, type Exposure } from "./limits";

export const SINGLE = "single pulse";
export const WHOLE = "whole exposure";
export const ADDING_UP = "adding up";

/** Return, rule by rule, what one pulse of a train may carry [J/m2]; the smallest decides. */
export function pulse_limits_j_m2(
  a: Exposure & { pulse_duration_s: number; repetition_rate_hz: number; edition: string },
): Record<string, number> {
  const pulses = Math.max(1, a.repetition_rate_hz * a.exposure_time_s);
  const ofPulse = { ...a, exposure_time_s: a.pulse_duration_s };
  const single = limit_fluence_j_m2(ofPulse);
  const found: Record<string, number> = { [SINGLE]: single, [WHOLE]: limit_fluence_j_m2(a) / pulses };
  const [retinal, directive] = [is_retinal(a), a.edition === EU_2006];
  // The directive lets short pulses add up too, which ICNIRP 2013 no longer does.
  if (directive || (retinal && is_thermal(ofPulse))) {
    found[ADDING_UP] = single * pulses ** -number("ADDING_UP_EXPONENT");
  }
  if (directive && retinal) {
    const group_s = Math.min(takenAsOneS(a.wavelength_m), a.exposure_time_s);
    const together = a.repetition_rate_hz * group_s;
    if (together > 1) {
      const group = limit_fluence_j_m2({ ...a, exposure_time_s: group_s });
      const groups = pulses / together;
      const ofGroups = group / together * groups ** -number("ADDING_UP_EXPONENT");
      found[ADDING_UP] = Math.min(found[ADDING_UP]!, ofGroups);
    }
  }
  return found;
}

/** The time within which the directive takes pulses on the retina as one [s]. */
function takenAsOneS(wavelength_m: number): number {
  const short = wavelength_m * 1e9 < number("C_A_FLAT_FROM");
  return number(short ? "RETINAL_2006_SHORT_UNTIL" : "RETINAL_2006_LONG_UNTIL");
}

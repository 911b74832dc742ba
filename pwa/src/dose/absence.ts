// Why a result is not there: the reason a person can act on; see api/dose/absence.py.
import { RESULTS } from "./constants";
import { hasPulses, solveRegardless } from "./emitted";
import type { DoseInput, PowerKind } from "./request";
import { resultsFrom } from "./results";
import type { Clash, KnownValues } from "./solver";
import type { Results } from "./steps";
import { pulseLimit, tissueLacks } from "./tissue_results";

/** Each result, and the kinds of what it needs; a verification is nothing a request could lack. */
const KINDS = Object.entries(RESULTS)
  .filter(([, { needs }]) => needs !== "verification")
  .map(([name, { needs }]) => [name, needs.split(" ")] as const);
const NO_OPTICS = "the spot is stated by its diameter, which says nothing about the waist of the beam";
const NO_WAIST = "no lens, waist or waveguide tip is stated";
const NO_LENS = "no lens is stated from which the distance to the waist would count";
const NO_GATE = "the emission is not gated";
const NO_PULSES = "the emission has no pulses";
const NOT_STEADY = "the emission is gated: it depends on where the gates fall along the track";
const NO_SPOT = "no spot diameter is stated";
const NO_SPEED = "no speed is stated";
const NO_TIME = "no emission time is stated";
const CONTRADICTED = "depends on values that contradict each other";
const NOT_STATED = "it is not stated whether the power is average or peak";
const CUT = "the gate cuts the last pulse, and how a pulse of this shape is cut is not known";
const NOT_ENOUGH = "not enough is given to work it out";

/** What kinds of result this kind of request cannot have, with the reason of each. */
function lackingFor(given: DoseInput): (readonly [need: string, reason: string])[] {
  const ungated = given.mode !== "gated";
  const kinds: readonly (readonly [string, boolean, string])[] = [
    ["optics", given.spot === null, NO_WAIST],
    ["optics", given.spot?.form === "diameter", NO_OPTICS],
    ["lens", given.spot !== null && given.spot.form !== "lens", NO_LENS],
    ["gate", ungated, NO_GATE],
    ["pulses", !hasPulses(given), NO_PULSES],
    ["pulse", given.mode === "continuous", NO_PULSES],
    ["steady", !ungated, NOT_STEADY],
    ["spot", given.spot === null, NO_SPOT],
    ["motion", given.speed_m_s === null, NO_SPEED],
    ["time", given.emission_time_s === null, NO_TIME],
  ];
  return kinds.filter(([, lacks]) => lacks).map(([need, , reason]) => [need, reason] as const);
}

/** Return {result name: reason} for every result that is not there, in the contract's order. */
export function absentReasons(
  given: DoseInput,
  known: KnownValues,
  results: Results,
  clashes: readonly Clash[],
): Record<string, string> {
  const nothing: Results = new Map();
  const reachable = (kind: PowerKind): Results => resultsFrom(given, solveRegardless(given, kind));
  const withClashes = clashes.length > 0 ? reachable(given.power_kind) : nothing;
  const unstated = given.emission.power !== undefined && given.power_kind === "not stated";
  const withPower = unstated && given.mode !== "continuous" ? reachable("average") : nothing;
  // Known where whole pulses fill the gate, and for a rectangular pulse that the gate cuts.
  const cut = known.has("pulses_complete") && !known.has("pulse_equivalents");
  const lacking = lackingFor(given);
  const onTissue = tissueLacks(given);
  const reasons: Record<string, string> = {};
  for (const [name, kinds] of KINDS) {
    if (results.has(name)) continue;
    reasons[name] =
      onTissue[name] ??
      lacking.find(([need]) => kinds.includes(need))?.[1] ??
      (withClashes.has(name)
        ? CONTRADICTED
        : withPower.has(name)
          ? NOT_STATED
          : ((name === "pulse_depth" ? pulseLimit(given, results) : null) ??
            (cut ? CUT : NOT_ENOUGH)));
  }
  return reasons;
}

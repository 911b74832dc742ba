// What a person has to know beside the numbers of a hazard; see api/dose/hazard/notes.py.
import { number } from "./constants";
import { ICNIRP_2013 } from "./editions";
import { is_retinal, is_stricter_than_directive, is_thermal } from "./limits";
import type { HazardInput } from "./request";
import { ADDING_UP, WHOLE } from "./train";

export interface Note { code: string; text: string; sources: readonly string[] }

const NOT_FOR_TISSUE = "the limits protect people in the room; they do not apply to the tissue treated";
const EVERYBODY = "everybody in the room wears eyewear while the laser can emit";
const GREATEST =
  "enter the laser's greatest output, never the present setting; a low verified ratio changes " +
  "nothing here";
const DIFFUSE =
  "metal that looks matt can be a mirror at 10.6 um: the diffuse distance never decides who " +
  "wears eyewear";
const BURN_THROUGH = "optical density says nothing of how long a filter withstands the beam";
const AIMING = "eyewear for a CO2 laser does not stop its visible aiming beam";
const NO_FACTOR = "grades are without the factor for beam size; with it they can be higher: editions differ";
const NO_ACCUMULATION = "the grade is for one pulse; pulses that add up can need a higher one";
const TRANSCRIBED = "these tables were read in transcriptions: compare with the original before relying on them";
const STRICTER =
  "short exposures of the retina keep the limit of ICNIRP 2013: stricter than the " +
  "directive's own row";
const ADDED_UP =
  "the directive lets pulses add up under thermal limits and leaves open whether the limit of " +
  "such short pulses is one: they add up here, which is the stricter reading";
const LABEL = "the class on the maker's label decides";

type Results = Record<string, { rule?: string }>;

/** Whether a limit rests on a row that is stricter than the directive's own. */
function keepsTheStricter(given: HazardInput, results: Results): boolean {
  const limit = results.exposure_limit_fluence;
  if (limit === undefined || limit.rule === WHOLE) return false;
  const of_pulse_s = given.repetition_rate_hz === null ? given.exposure_time_s : given.pulse_duration_s!;
  return is_stricter_than_directive({ ...given, exposure_time_s: of_pulse_s });
}

/** Whether pulses add up that may have no thermal limit; on the retina they do so. */
function addsUpByReading(given: HazardInput, results: Results): boolean {
  if (results.exposure_limit_fluence?.rule !== ADDING_UP) return false;
  return !is_retinal(given) && !is_thermal({ ...given, exposure_time_s: given.pulse_duration_s! });
}

/** Return what a person has to know beside the numbers, as the response carries it. */
export function notes(given: HazardInput, results: Results): Note[] {
  const found: [string, string, string[]][] = [
    ["not_for_tissue", NOT_FOR_TISSUE, ["icnirp2013"]],
    ["everybody_wears_eyewear", EVERYBODY, ["practice"]],
    ["greatest_output", GREATEST, ["practice"]],
    ["transcribed", TRANSCRIBED, [given.edition === ICNIRP_2013 ? "icnirp2013" : "directive2006"]],
  ];
  if (keepsTheStricter(given, results)) found.push(["stricter_than_directive", STRICTER, ["directive2006"]]);
  if (addsUpByReading(given, results)) found.push(["adds_up_by_reading", ADDED_UP, ["directive2006"]]);
  if ("diffuse_distance" in results) found.push(["diffuse_never_decides", DIFFUSE, ["practice"]]);
  if ("optical_density" in results) {
    found.push(["density_not_burn_through", BURN_THROUGH, ["en207"]]);
    if (given.wavelength_m > number("EN207_LONG_FROM")) found.push(["aiming_beam_passes", AIMING, ["practice"]]);
  }
  if (("en207_d" in results || "en207_ir" in results) && !given.with_beam_size_factor) {
    found.push(["without_beam_size_factor", NO_FACTOR, ["en207"]]);
  }
  if ("en207_ir" in results && given.repetition_rate_hz !== null && given.accumulation_window_s === null) {
    found.push(["without_accumulation", NO_ACCUMULATION, ["en207"]]);
  }
  if ("aiming_beam_class" in results) found.push(["label_decides", LABEL, ["iec60825"]]);
  return found.map(([code, text, sources]) => ({ code, text, sources }));
}

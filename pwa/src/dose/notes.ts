// What a person has to know beside the numbers of a dose; see api/dose/notes.py. Literature lines
// are never targets.
import { basisOf } from "./arrival";
import { number } from "./constants";
import { format_value } from "./display";
import { hasPulses } from "./emitted";
import type { DoseInput } from "./request";
import { type Results, valueOf } from "./steps";
import { measured_trend_depth_m } from "./tissue";
import { atMeasuredLine, matrixAbsorbs } from "./tissue_results";

export interface DoseWarning {
  code: string;
  text: string;
  sources: string[];
}

const NO_RATIO = "no power verification is given: what arrives at the tissue is not known";
const BY_DESIGN =
  "what arrives is worked out from the transmission by design: it was not measured at the " +
  "handpiece";
const KEEP_PANEL =
  "do not raise the panel to make up for a low ratio; follow the maker's instructions";
const UNUSED = "the panel's power is not used: it is not stated whether it is average or peak";
const GAPS = "the spots do not touch: fluence along the track is an average over spots and gaps";
const TIP_BOUND =
  "the spot is a lower bound: it is that of the bore's lowest mode, and a real waveguide carries " +
  "wider ones; irradiance and fluence are lower than shown if the spot is wider";
const GATE_GAPS =
  "the spot moves on while the gate is shut: fluence along the track is an average";
const MATRIX =
  "from 9.2 to 9.7 um the structural matrix of tissue absorbs too: the absorption of its water " +
  "alone is too low";
const PULSE_BAND =
  "the depth of one pulse is a band from the mean fluence; in the centre of a Gaussian spot the " +
  "fluence is twice that";
const IDEAL_CUT =
  "the cut depth is an ideal energy balance: a narrow kerf or repeated passes cut deeper; it is " +
  "not for judging the distance to bone, nerve, vessel or tooth";
const DAMAGE = "the thermal damage is a literature range, not computed from these settings";

type Found = [code: string, text: string, sources: string[]];

/** Return where a continuous beam lies against what was measured with continuous beams. */
function literatureLines(given: DoseInput, results: Results): Found[] {
  const anyTissue = Object.keys(given.tissue).length > 0;
  if (!anyTissue || !atMeasuredLine(given) || hasPulses(given)) return [];
  const lines: Found[] = [];
  const name = given.mode === "continuous" ? "irradiance_mean" : "pulse_irradiance_mean";
  const irradiance = valueOf(results, name);
  if (irradiance !== undefined) {
    const shown = (w_m2: number): string => format_value(name, w_m2 * 1e-4);
    const here = `these settings give ${shown(irradiance)}`;
    lines.push([
      "line_char",
      "literature line, not a target: with a continuous beam black char was seen only below " +
        `${shown(number("CHAR_BELOW"))}; ${here}`,
      ["walsh1989"],
    ], [
      "line_zone",
      "literature line, not a target: with a continuous beam above " +
        `${shown(number("ZONE_ABOVE"))} the zone of thermal damage measured 100 ± 15 µm; ${here}`,
      ["walsh1989"],
    ]);
  }
  const power_w = valueOf(results, "average_power") ?? 0;
  const inRange = power_w >= number("TREND_FROM") && power_w <= number("TREND_TO");
  if (given.mode === "continuous" && inRange) {
    const depth = format_value("cut_depth", measured_trend_depth_m({ power_w }) * 1000);
    lines.push([
      "measured_trend",
      `measured in swine tongue with a continuous beam: about ${depth} deep at this power; a ` +
        "trend only, as spot and speed are not stated there",
      ["mungmee2023"],
    ]);
  }
  return lines;
}

/** Return what a person has to know beside the numbers, as the response carries it. */
export function notes(given: DoseInput, results: Results): DoseWarning[] {
  const basis = basisOf(given.delivery);
  const found: Found[] = [];
  if (basis === null) found.push(["not_verified", NO_RATIO, []]);
  if (basis === "design") found.push(["by_design", BY_DESIGN, []]);
  if (basis !== null) found.push(["keep_panel", KEEP_PANEL, []]);
  const unstated = given.mode !== "continuous" && given.power_kind === "not stated";
  if (unstated && given.emission.power !== undefined) {
    found.push(["power_kind_not_stated", UNUSED, []]);
  }
  if ((valueOf(results, "overlap") ?? 0) < 0) found.push(["gaps", GAPS, []]);
  if (given.mode === "gated" && results.has("track_fluence_mean")) {
    const moved_m = (given.emission.gate_off ?? 0) * (given.speed_m_s ?? 0);
    if (moved_m > (given.spot?.diameter_m ?? 0)) found.push(["gate_gaps", GATE_GAPS, []]);
  }
  if (given.spot?.form === "bore") found.push(["tip_lower_bound", TIP_BOUND, ["abrams1972"]]);
  if (results.has("absorption_coefficient") && matrixAbsorbs(given)) {
    found.push(["matrix_absorbs", MATRIX, ["practice"]]);
  }
  if (results.has("pulse_depth")) found.push(["pulse_depth_band", PULSE_BAND, ["payne1997"]]);
  if (results.has("cut_depth")) {
    found.push(["cut_depth_ideal", IDEAL_CUT, ["walsh1989", "payne1997"]]);
  }
  if (results.has("thermal_damage")) {
    found.push(["damage_literature", DAMAGE, ["suter2017", "tongue2014", "damagerange"]]);
  }
  found.push(...literatureLines(given, results));
  return found.map(([code, text, sources]) => ({ code, text, sources }));
}

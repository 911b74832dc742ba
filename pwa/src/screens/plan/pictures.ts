/** From settings and their dose to what the drawings need. */
import { to_si } from "../../dose/quantity";
import type { DepthBand } from "../../parts/drawings/depth-shapes";
import type { BeamSizes } from "../../parts/drawings/spot-shapes";
import type { Emission } from "../../parts/drawings/pulse-times";
import type { DoseResponse } from "../../session/dosing";
import type { Settings } from "../../session/types";
import { distanceField, spotFormOf } from "./spot-form";

const value = (response: DoseResponse, name: string): number | null => response.dose.set[name]?.value ?? null;

/** The beam at the tissue; null where no spot is known. */
export function beamOf(settings: Settings, response: DoseResponse): BeamSizes | null {
  const spot_diameter_mm = value(response, "spot_diameter");
  if (spot_diameter_mm === null) return null;
  const form = spotFormOf(settings.spot);
  const far = distanceField(form);
  const text = far ? settings.spot?.[far] : undefined;
  return {
    spot_diameter_mm, waist_diameter_mm: value(response, "waist_diameter"), rayleigh_range_mm: value(response, "rayleigh_range"),
    distance_mm: text === undefined ? null : to_si(text, "m") * 1000, one_sided: form === "bore",
  };
}

export function emissionOf(settings: Settings, response: DoseResponse): Emission {
  const seconds = (name: string) => (settings.emission[name] ? to_si(settings.emission[name], "s") : null);
  return {
    peak_power_w: value(response, "peak_power"), average_power_w: value(response, "average_power"),
    pulse_duration_s: value(response, "pulse_duration"), pulse_period_s: value(response, "pulse_period"),
    pulse_shape: settings.emission["pulse_shape"] ?? "rectangular", gate_on_s: seconds("gate_on"), gate_off_s: seconds("gate_off"),
  };
}

/** The depths that the dose gives as bands, from what arrives where that is known. */
export function depthBands({ dose }: DoseResponse): DepthBand[] {
  const side = dose.delivered ?? dose.set;
  const scale = { pulse_depth: 1, cut_depth: 1000, thermal_damage: 1 } as const;
  return (Object.keys(scale) as (keyof typeof scale)[]).flatMap((name) => {
    const { low, high } = side[name] ?? {};
    return low === undefined || high === undefined ? [] : [{ name, low_um: low * scale[name], high_um: high * scale[name] }];
  });
}

// A hazard request in SI units, checked as a whole; see api/dose/hazard/request.py. Every diameter
// and divergence is 63 % here, except those of a tip (1/e2).
import { number as doseNumber } from "../constants";
import type { FieldErrors } from "../errors";
import { refuse } from "../request";
import type { Values } from "../schema";
import type { Target } from "./constants";
import { ICNIRP_2013 } from "./editions";
import { readRequest, REQUIRED } from "./schema";

export interface HazardInput {
  wavelength_m: number;
  exposure_time_s: number;
  target: Target;
  edition: string;
  power_w: number | null;
  pulse_energy_j: number | null;
  pulse_duration_s: number | null;
  repetition_rate_hz: number | null;
  /** The power over the exposure; null for a single pulse. */
  average_power_w: number | null;
  /** 0 where the beam's size is not known. */
  beam_diameter_m: number;
  beam_divergence_rad: number | null;
  lens_focal_length_m: number | null;
  lens_beam_diameter_m: number | null;
  tip_diameter_m: number | null;
  tip_divergence_rad: number | null;
  reflectance: number;
  reflection_angle_rad: number;
  exposed_area_m2: number | null;
  material: string;
  with_beam_size_factor: boolean;
  accumulation_window_s: number | null;
}

type Numbers = Record<string, number | undefined>;
const part = (data: Values, name: string): Values => (data[name] ?? {}) as Values;

function unfit(data: Values): FieldErrors {
  const emission = part(data, "emission") as Numbers;
  const errors: FieldErrors = {};
  if (emission.power !== undefined) {
    for (const name of Object.keys(emission)) {
      if (name !== "power") errors[`emission.${name}`] = ["does not go with a power: give the pulse energy instead"];
    }
  } else if (emission.pulse_energy === undefined) {
    errors["emission"] = ["needs a power or a pulse energy"];
  } else if (emission.pulse_duration === undefined) {
    errors["emission.pulse_duration"] = [REQUIRED];
  }
  if (Object.keys(errors).length > 0) return errors;
  const single = emission.power === undefined && emission.repetition_rate === undefined;
  const duration = emission.pulse_duration;
  const time = data.exposure_time as number | undefined;
  if (single && time !== undefined && time !== duration) {
    errors["exposure_time"] = ["of a single pulse is its duration: leave it out"];
  }
  if (!single && time === undefined) errors["exposure_time"] = [REQUIRED];
  if (!single && duration !== undefined) {
    if (duration * (emission.repetition_rate ?? 0) > 1 + 1e-9) {
      errors["emission.pulse_duration"] = ["is longer than the pulse period"];
    } else if (time !== undefined && time < duration) {
      errors["exposure_time"] = ["is shorter than a pulse"];
    }
  }
  const beam = part(data, "beam");
  const stated = ((beam.diameter as number | undefined) ?? 0) > 0 || "full_divergence" in beam;
  if (stated && !("diameter_definition" in beam)) errors["beam.diameter_definition"] = [REQUIRED];
  return errors;
}

/** Return a 63 % diameter or divergence of one that may be 1/e2. */
function to63(value: number, definition: unknown): number {
  return definition === "1/e2" ? value / doseNumber("INVERSE_E2_PER_INVERSE_E") : value;
}

/** Return a hazard request in SI units; throws BadInput with what is wrong by field path. */
export function parse(request: unknown): HazardInput {
  const read: FieldErrors = {};
  const data = readRequest(request, read);
  if (Object.keys(read).length > 0) throw refuse(read);
  const errors = unfit(data);
  if (Object.keys(errors).length > 0) throw refuse(errors);
  const emission = part(data, "emission") as Numbers;
  const beam = part(data, "beam");
  const lens = part(data, "lens");
  const tip = part(data, "tip") as Numbers;
  const reflection = part(data, "reflection") as Numbers;
  const eyewear = part(data, "eyewear");
  const { power = null, pulse_energy = null, pulse_duration = null, repetition_rate = null } = emission;
  const trained = pulse_energy !== null && repetition_rate !== null ? pulse_energy * repetition_rate : null;
  const divergence = beam.full_divergence as number | undefined;
  const window = eyewear.accumulation_window as string | undefined;
  return {
    wavelength_m: data.wavelength as number,
    exposure_time_s: ((data.exposure_time as number | undefined) ?? pulse_duration)!,
    target: (data.target as Target | undefined) ?? "eye",
    edition: (data.edition as string | undefined) ?? ICNIRP_2013,
    power_w: power,
    pulse_energy_j: pulse_energy,
    pulse_duration_s: pulse_duration,
    repetition_rate_hz: repetition_rate,
    average_power_w: power ?? trained,
    beam_diameter_m: to63((beam.diameter as number | undefined) ?? 0, beam.diameter_definition),
    beam_divergence_rad: divergence === undefined ? null : to63(divergence, beam.diameter_definition),
    lens_focal_length_m: (lens.focal_length as number | undefined) ?? null,
    lens_beam_diameter_m: lens.beam_diameter === undefined
      ? null : to63(lens.beam_diameter as number, lens.diameter_definition),
    tip_diameter_m: tip.diameter ?? null,
    tip_divergence_rad: tip.full_divergence ?? null,
    reflectance: reflection.reflectance ?? 1,
    reflection_angle_rad: reflection.angle ?? 0,
    exposed_area_m2: (part(data, "skin") as Numbers).exposed_area ?? null,
    material: (eyewear.material as string | undefined) ?? "glass",
    with_beam_size_factor: (eyewear.beam_size_factor as boolean | undefined) ?? false,
    accumulation_window_s: window === undefined ? null : parseFloat(window),
  };
}

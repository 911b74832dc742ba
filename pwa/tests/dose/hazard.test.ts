// The tablet's hazard engine against the printed values that the server's is held to as well.
import { describe, expect, test } from "vitest";
import vectors from "../../../tests/vectors/hazard.json";
import { fluence_mean_j_m2, irradiance_mean_w_m2, irradiance_peak_w_m2 } from "../../src/dose/exposure";
import { diffuse_distance_m, direct_distance_m, lens_distance_m, tip_distance_m } from "../../src/dose/hazard/distances";
import { respond, type HazardResponse } from "../../src/dose/hazard/evaluate";
import { accumulation_factor, grade_continuous, optical_density } from "../../src/dose/hazard/eyewear";
import { limit_fluence_j_m2, limit_irradiance_w_m2, limiting_aperture_m, type Exposure } from "../../src/dose/hazard/limits";
import { pulse_limits_j_m2 } from "../../src/dose/hazard/train";

type Given = Record<string, number> & { wavelength_nm: number | string; beam_size_factor?: unknown; edition?: string };
interface Value { value: number; unit: string }
interface Case {
  id: string; kind: string; inputs: Given; published: Value | null; recomputed: Value; reproduces: boolean | null;
  tolerance: { type: string; value: number };
}
const CASES = vectors.cases as unknown as Case[];
const OLD_LIMIT = "flb-od-yag-100ps";
const RADIANS = Math.PI / 180;

const irradiance = (power_w: number, diameter_m: number): number =>
  irradiance_mean_w_m2({ power_w, spot_diameter_m: diameter_m });
const area = (g: Given): number => g.power_W! / g.mpe_W_m2!;
const outside = (one: Case): Value => one.published ?? one.recomputed;

function at(g: Given): Exposure {
  const nanometres = String(g.wavelength_nm).split(" ")[0]!.split("-")[0]!;
  return { wavelength_m: Number(nanometres) * 1e-9, exposure_time_s: Number(g.t_s), target: "eye", edition: g.edition ?? "ICNIRP 2013" };
}

function graded(g: Given): HazardResponse["results"] {
  const pulsed = "pulse_energy_J" in g;
  return respond({
    wavelength: `${g.wavelength_nm} nm`,
    exposure_time: "10 s",
    emission: pulsed
      ? { pulse_energy: `${g.pulse_energy_J} J`, pulse_duration: `${g.pulse_s} s`, repetition_rate: `${g.prf_Hz} Hz` }
      : { power: `${g.power_W ?? g.power_avg_W} W` },
    beam: { diameter: `${g.d63_mm ?? g.diameter_mm} mm`, diameter_definition: "63 %" },
    eyewear: {
      material: "glass", beam_size_factor: String(g.beam_size_factor).startsWith("glass"),
      ...(pulsed ? { accumulation_window: "5 s" } : {}),
    },
  }).results;
}

function smallestDiameterMm(g: Given): number {
  let [low, high] = [1e-3, 1];
  for (let turn = 0; turn < 200; turn += 1) {
    const middle = (low + high) / 2;
    const irradiance_w_m2 = (g.beam_size_factor as number) * irradiance(g.power_W!, middle);
    const grade = grade_continuous({ irradiance_w_m2, wavelength_m: Number(g.wavelength_nm) * 1e-9 });
    if (grade !== null && grade <= g.LB!) high = middle;
    else low = middle;
  }
  return high * 1000;
}

function density(g: Given): number {
  if ("laser" in g || "aperture_mm" in g) {
    const { results } = respond({
      wavelength: `${g.wavelength_nm} nm`, exposure_time: `${g.t_s} s`, emission: { power: `${g.power_W} W` },
    });
    return results.optical_density!.value as number;
  }
  if ("w_cm" in g) {
    const peak = irradiance_peak_w_m2({ power_w: g.power_W!, spot_diameter_m: 2 * g.w_cm! / 100 });
    return optical_density({ exposure_over_limit: peak / (g.mpe_W_cm2! * 1e4) });
  }
  const limit = g.implied_mpe_W_cm2 ?? g.mpe_J_cm2 ?? g.mpe_mW_cm2! * 1e-3;
  return optical_density({ exposure_over_limit: (g.exposure_W_cm2 ?? g.exposure_J_cm2)! / limit });
}

function limit(one: Case, place: Exposure): number {
  const { unit } = outside(one);
  return unit === "J/m2" ? limit_fluence_j_m2(place) : limit_irradiance_w_m2(place) * (unit === "W/cm2" ? 1e-4 : 1);
}

function plain(one: Case): number {
  const g = one.inputs;
  const diameter_mm = g.aperture_mm ?? g.diameter_mm ?? 10 * g.diameter_cm!;
  return irradiance(g.power_W!, diameter_mm * 1e-3) * (outside(one).unit === "W/cm2" ? 1e-4 : 1);
}

const ANSWERS: Record<string, (one: Case) => number> = {
  en207_D: (one) => (one.published?.unit === "log10 value"
    ? Math.log10(irradiance(one.inputs.power_W!, one.inputs.diameter_mm! * 1e-3)) - 1
    : (graded(one.inputs).en207_d!.value as number)),
  en207_IR: (one) => graded(one.inputs).en207_ir!.value as number,
  en207_dmin: (one) => smallestDiameterMm(one.inputs),
  en207_corrected_exposure: ({ inputs: g }) =>
    fluence_mean_j_m2({ pulse_energy_j: g.pulse_energy_J!, spot_diameter_m: g.diameter_mm! * 1e-3 }) *
    accumulation_factor({ repetition_rate_hz: g.prf_Hz!, window_s: g.window_s! }),
  od: (one) => density(one.inputs),
  mpe_eye: (one) => limit(one, at(one.inputs)),
  mpe_eye_and_skin: (one) => limit(one, { ...at(one.inputs), wavelength_m: 10.6e-6 }),
  mpe_eye_simplified: (one) => limit(one, { ...at(one.inputs), wavelength_m: 10.6e-6 }),
  mpe_eye_repetitive: ({ inputs: g }) => Math.min(...Object.values(pulse_limits_j_m2({
    wavelength_m: Number(g.wavelength_nm) * 1e-9, pulse_duration_s: g.pulse_s!, repetition_rate_hz: g.prf_Hz!,
    exposure_time_s: g.T_s!, target: "eye", edition: g.edition ?? "ICNIRP 2013",
  }))),
  // "isotropic into a half sphere" is P / (2 pi r^2): half of a Lambertian surface on its axis.
  diffuse_nhz: ({ inputs: g }) => diffuse_distance_m({
    hazard_area_m2: ("model" in g ? 0.5 : 1) * area(g), reflectance: g.rho ?? 1, angle_rad: (g.theta_deg ?? 0) * RADIANS,
  }),
  lens_on_laser_nhz: ({ inputs: g }) => lens_distance_m({
    hazard_area_m2: area(g), focal_length_m: g.focal_length_m ?? g.focal_m!,
    beam_diameter_at_lens_m: g.d63_at_lens_m ?? g.beam_at_lens_m!,
  }),
  nohd: ({ inputs: g }) => direct_distance_m({
    hazard_area_m2: area(g), beam_diameter_m: g.aperture_m!, full_divergence_rad: g.divergence_rad!,
  }),
  waveguide_exit_nhz: ({ inputs: g }) => tip_distance_m({
    hazard_area_m2: area(g), tip_diameter_m: g.tip_mm_1e2! * 1e-3, full_divergence_rad: g.full_divergence_1e2_deg! * RADIANS,
  }),
  irradiance: plain,
  irradiance_in_aperture: plain,
  peak_power_density: ({ inputs: g }) => irradiance(g.power_avg_W! / g.prf_Hz! / g.pulse_s!, g.diameter_mm! * 1e-3),
  limiting_aperture: ({ inputs: g }) => limiting_aperture_m(at(g)) * 1000,
  power_in_pupil: ({ inputs: g }) =>
    limit_irradiance_w_m2(at(g)) * Math.PI / 4 * limiting_aperture_m(at(g)) ** 2 * 1000,
};

/** How far off a value may be; one that was written down rounded, by half its last digit. */
function allowed(one: Case): number {
  const { value } = outside(one);
  const most = one.tolerance.value * (one.tolerance.type === "rel" ? value : 1);
  if (one.published !== null) return most;
  const decimals = String(value).split(".")[1]?.length ?? 0;
  return Math.max(most, 0.5 * 10 ** -decimals);
}

describe("printed values", () => {
  test.each(CASES.filter(({ id }) => id !== OLD_LIMIT))("$id $kind", (one) => {
    const ours = ANSWERS[one.kind]!(one);
    if (one.reproduces === false) {
      expect(ours).toBe(one.recomputed.value);
      expect(ours).not.toBe(one.published!.value);
    } else {
      expect(Math.abs(ours - outside(one).value)).toBeLessThanOrEqual(allowed(one));
    }
  });
});

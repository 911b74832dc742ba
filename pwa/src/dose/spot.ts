// The spot of a request in its four forms: stated, behind a lens, from a waist, from a bore; see
// api/dose/spot.py.
import { spot_diameter_m } from "./beam";
import { number } from "./constants";
import { format_number } from "./display";
import type { FieldErrors } from "./errors";
import * as O from "./optics";
import type { Result } from "./steps";

export type SpotForm = "diameter" | "lens" | "waist" | "bore";
/** A spot in SI units, and its results by name. */
export interface Spot {
  form: SpotForm;
  diameter_m: number;
  values: Record<string, Result>;
}

interface Fields {
  needed: readonly string[];
  optional: readonly string[];
}

const FORMS: Record<SpotForm, Fields> = {
  diameter: { needed: ["diameter", "diameter_definition"], optional: [] },
  lens: {
    needed: ["focal_length", "beam_diameter_at_lens", "beam_quality_m2", "defocus"], optional: [],
  },
  waist: { needed: ["waist_diameter", "beam_quality_m2", "defocus"], optional: [] },
  bore: { needed: ["bore_diameter", "distance"], optional: ["full_divergence"] },
};
const SHARED = ["beam_quality_m2", "defocus"];
/** The fields by which a form is known. */
const OWN = Object.entries(FORMS).map(([form, { needed, optional }]) => {
  const own = [...needed, ...optional].filter((name) => !SHARED.includes(name));
  return [form as SpotForm, own] as const;
});
const NARROWEST: Record<SpotForm, string> = {
  diameter: "diameter", lens: "focal_length", waist: "waist_diameter", bore: "bore_diameter",
};

/** Return which form the fields of a spot belong to, the first where they are mixed. */
function formOf(spot: Record<string, unknown>): SpotForm {
  return OWN.find(([, own]) => own.some((name) => name in spot))?.[0] ?? "diameter";
}

/** Return {field of the spot: [text]} for what is missing or belongs to another form. */
export function formErrors(spot: Record<string, unknown>, required: string): FieldErrors {
  const form = formOf(spot);
  const { needed, optional } = FORMS[form];
  const errors: FieldErrors = {};
  for (const name of needed) if (!(name in spot)) errors[name] = [required];
  for (const name of Object.keys(spot)) {
    if (![...needed, ...optional].includes(name)) {
      errors[name] = [`does not belong to a spot stated by its ${form}`];
    }
  }
  return errors;
}

function optics<A extends object>(work: (a: A) => number, name: string, a: A): Result {
  return { value_si: work(a), formula: `api.dose.optics.${name}` };
}

function fromRange(
  waist: Result,
  rayleigh: Result,
  divergence: Result,
  defocus_m: number,
): Record<string, Result> {
  const rayleigh_range_m = rayleigh.value_si;
  return {
    spot_diameter: optics(O.diameter_at_defocus_m, "diameter_at_defocus_m", {
      waist_diameter_m: waist.value_si, rayleigh_range_m, defocus_m,
    }),
    waist_diameter: waist,
    rayleigh_range: rayleigh,
    depth_of_focus: optics(O.depth_of_focus_m, "depth_of_focus_m", { rayleigh_range_m }),
    half_divergence: divergence,
  };
}

function aroundWaist(
  waist: Result,
  defocus_m: number,
  quality: { beam_quality_m2: number; wavelength_m: number },
): Record<string, Result> {
  const around = { waist_diameter_m: waist.value_si, ...quality };
  return fromRange(
    waist,
    optics(O.rayleigh_range_m, "rayleigh_range_m", around),
    optics(O.half_divergence_rad, "half_divergence_rad", around),
    defocus_m,
  );
}

function behindLens(spot: Record<string, number>, wavelength_m: number): Record<string, Result> {
  const quality = { beam_quality_m2: spot.beam_quality_m2!, wavelength_m };
  const lens = {
    beam_diameter_m: spot.beam_diameter_at_lens!, focal_length_m: spot.focal_length!, ...quality,
  };
  const waist = optics(O.waist_diameter_behind_lens_m, "waist_diameter_behind_lens_m", lens);
  return {
    ...aroundWaist(waist, spot.defocus!, quality),
    waist_position: optics(O.waist_position_behind_lens_m, "waist_position_behind_lens_m", lens),
  };
}

function fromTip(spot: Record<string, number>, wavelength_m: number): Record<string, Result> {
  const bore = { bore_diameter_m: spot.bore_diameter! };
  const waist = optics(O.tip_waist_diameter_m, "tip_waist_diameter_m", bore);
  const full_divergence_rad = spot.full_divergence;
  if (full_divergence_rad === undefined) {
    return aroundWaist(waist, spot.distance!, { beam_quality_m2: 1, wavelength_m });
  }
  const full = { full_divergence_rad };
  return fromRange(
    waist,
    optics(O.rayleigh_range_from_divergence_m, "rayleigh_range_from_divergence_m", {
      waist_diameter_m: waist.value_si, ...full,
    }),
    optics(O.half_of_full_divergence_rad, "half_of_full_divergence_rad", full),
    spot.distance!,
  );
}

function valuesOf(
  form: SpotForm,
  spot: Record<string, unknown>,
  wavelength_m: number,
): Record<string, Result> {
  const si = spot as Record<string, number>;
  if (form === "lens") return behindLens(si, wavelength_m);
  if (form === "bore") return fromTip(si, wavelength_m);
  if (form === "waist") {
    const quality = { beam_quality_m2: si.beam_quality_m2!, wavelength_m };
    return aroundWaist(
      { value_si: si.waist_diameter!, formula: "given" }, si.defocus!, quality,
    );
  }
  const diameter_definition = spot.diameter_definition as string;
  const stated = spot_diameter_m({ diameter_m: si.diameter!, diameter_definition });
  return { spot_diameter: { value_si: stated, formula: "api.dose.beam.spot_diameter_m" } };
}

/** Return the spot of a request whose fields are in SI units and fit one form. */
export function spotFrom(spot: Record<string, unknown>, wavelength_m: number): Spot {
  const form = formOf(spot);
  const values = valuesOf(form, spot, wavelength_m);
  return { form, diameter_m: values.spot_diameter!.value_si, values };
}

/** Return {field of the spot: [text]} if the beam widens faster than the formulas hold for. */
export function tooSteep({ form, values }: Spot): FieldErrors {
  const limit = number("HALF_DIVERGENCE_LIMIT");
  const divergence = values.half_divergence?.value_si ?? 0;
  // 1e-9: a stated divergence at the end of its range is inside it, as for every quantity.
  if (divergence <= limit * (1 + 1e-9)) return {};
  const text =
    `gives a half divergence of ${format_number(divergence)} rad: the formulas hold up to ` +
    `${format_number(limit)} rad`;
  return { [NARROWEST[form]]: [text] };
}

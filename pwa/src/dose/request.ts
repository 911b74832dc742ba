// A dose request in SI units, read as schema.ts says and checked as a whole; see
// api/dose/request.py.
import { TISSUES } from "./constants";
import { BadInput, type FieldErrors } from "./errors";
import {
  CHAIN, type DeliveryName, type EmissionName, GATES, type Mode, type PowerKind,
  POWERS, PROPERTIES, type PropertyName, PULSES, RATIO, readHeatRequest, readRequest, REQUIRED, type Values,
} from "./schema";
import { formErrors, type Spot, spotFrom, tooSteep } from "./spot";

export type { DoseRequest, Mode, PowerKind, QuantityText, SpotRequest } from "./schema";

/** A dose request in SI units. */
export interface DoseInput {
  wavelength_m: number;
  mode: Mode;
  emission: { [name in EmissionName]?: number };
  power_kind: PowerKind;
  pulse_shape: string;
  delivery: { [name in DeliveryName]?: number };
  verified_at: string | null;
  spot: Spot | null;
  speed_m_s: number | null;
  emission_time_s: number | null;
  tissue: { [name in PropertyName]?: number };
  tissue_kind: string | null;
  /** Whether the heat of ablation was stated, rather than that of the tissue's kind. */
  own_ablation_heat: boolean;
  /** Absolute standard uncertainties by field path. */
  uncertainty: Record<string, number>;
  /** What was read, to be settled again with one value changed. */
  stated: Values;
}

/** The properties of each kind of tissue. */
const USUAL: Record<string, Values> = Object.fromEntries(
  Object.entries(TISSUES).map(([kind, properties]) => {
    const values = Object.entries(properties).map(([name, { value }]) => [name, value] as const);
    return [kind, Object.fromEntries(values)];
  }),
);
const OF_EMISSION = [...POWERS, ...PULSES, ...GATES];
const OF_DELIVERY = [...CHAIN, ...RATIO];
const NO_PROPERTY = "needs a kind or a property";
const ABOVE_VALUE = "must not be larger than the value itself";
const NOT_STATED = "is not stated in this request";
const STATED_TWICE = "is stated twice: see delivery.verified_ratio_uncertainty";

/** Return the refusal of a request, with what is wrong by field path. */
export function refuse(errors: FieldErrors): BadInput {
  const first = Object.keys(errors).sort()[0] ?? "";
  const text = errors[first]?.[0] ?? "";
  return new BadInput("bad_request", first === "" ? text : `${first} ${text}`, errors);
}

function misplaced(emission: Values): FieldErrors {
  const errors: FieldErrors = {};
  for (const name of GATES) {
    if (name in emission && emission.mode !== "gated") {
      errors[`emission.${name}`] = ["belongs to a gated emission only"];
    }
  }
  for (const name of PULSES) {
    if (name in emission && emission.mode === "continuous") {
      errors[`emission.${name}`] = ["does not belong to a continuous emission"];
    }
  }
  if (![...POWERS, ...PULSES].some((name) => name in emission)) {
    errors["emission"] = ["needs a power, an energy, a duration or a rate"];
  }
  return errors;
}

function refuseIfAny(errors: FieldErrors): void {
  if (Object.keys(errors).length > 0) throw refuse(errors);
}

function atSpot(errors: FieldErrors): FieldErrors {
  return Object.fromEntries(Object.entries(errors).map(([name, texts]) => [`spot.${name}`, texts]));
}

const part = (data: Values, name: string): Values => (data[name] ?? {}) as Values;

/** Return what is wrong with parts whose fields can each be read. */
function unfit(data: Values): FieldErrors {
  const errors = misplaced(part(data, "emission"));
  if (data.spot !== undefined) Object.assign(errors, atSpot(formErrors(part(data, "spot"), REQUIRED)));
  const delivery = part(data, "delivery");
  if (!("verified_ratio" in delivery)) {
    for (const name of ["verified_at", "verified_ratio_uncertainty"]) {
      if (name in delivery) {
        errors[`delivery.${name}`] = ["has no meaning without a verified ratio"];
      }
    }
  }
  const mirrors = ["mirror_count", "mirror_reflectance"];
  for (const [name, other] of [mirrors, [...mirrors].reverse()] as [string, string][]) {
    if (other in delivery && !(name in delivery)) errors[`delivery.${name}`] = [REQUIRED];
  }
  if (data.tissue !== undefined && Object.keys(part(data, "tissue")).length === 0) {
    errors["tissue"] = [NO_PROPERTY];
  }
  return errors;
}

function withDefaults(data: Values): Values {
  const own = part(data, "tissue");
  const own_ablation_heat = "ablation_heat" in own;
  return { ...data, own_ablation_heat, tissue: { ...USUAL[own.kind as string], ...own } };
}

function divided(path: string): [part: string, name: string] {
  const dot = path.lastIndexOf(".");
  return dot < 0 ? ["", path] : [path.slice(0, dot), path.slice(dot + 1)];
}

/** Return the value of a field path, or undefined where it is not stated. */
export function valueAt(data: Values, path: string): number | undefined {
  const [inside, name] = divided(path);
  return (inside === "" ? data : part(data, inside))[name] as number | undefined;
}

/** Return what was read with another value at a field path. */
export function withValue(data: Values, path: string, value: number): Values {
  const [inside, name] = divided(path);
  if (inside === "") return { ...data, [name]: value };
  return { ...data, [inside]: { ...part(data, inside), [name]: value } };
}

function absoluteUncertainties(data: Values): Record<string, number> {
  const found: Record<string, number> = {};
  const errors: FieldErrors = {};
  const stated = part(data, "uncertainty") as Record<string, [relative: boolean, number: number]>;
  for (const [path, [relative, number]] of Object.entries(stated)) {
    const value = valueAt(data, path);
    if (value === undefined) errors[`uncertainty.${path}`] = [NOT_STATED];
    else if (value !== 0 && !relative && number > value) {
      errors[`uncertainty.${path}`] = [ABOVE_VALUE];
    } else found[path] = relative ? number * value : number;
  }
  const ratio = part(data, "delivery") as { [name in DeliveryName]?: number };
  if (ratio.verified_ratio_uncertainty !== undefined) {
    if ("delivery.verified_ratio" in found) {
      errors["uncertainty.delivery.verified_ratio"] = [STATED_TWICE];
    }
    found["delivery.verified_ratio"] =
      ratio.verified_ratio_uncertainty * (ratio.verified_ratio ?? NaN);
  }
  refuseIfAny(errors);
  return found;
}

function chosen<N extends string>(values: Values, names: readonly N[]): { [name in N]?: number } {
  const found: { [name in N]?: number } = {};
  for (const name of names) if (name in values) found[name] = values[name] as number;
  return found;
}

/** Return the input of the engine for what was read, defaults included. */
export function settle(data: Values, uncertainty: Record<string, number>): DoseInput {
  const emission = part(data, "emission");
  const delivery = part(data, "delivery");
  const tissue = part(data, "tissue");
  const wavelength_m = data.wavelength as number;
  return {
    wavelength_m,
    mode: emission.mode as Mode,
    emission: chosen(emission, OF_EMISSION),
    power_kind: (emission.power_kind ?? "not stated") as PowerKind,
    pulse_shape: (emission.pulse_shape ?? "rectangular") as string,
    delivery: chosen(delivery, OF_DELIVERY),
    verified_at: (delivery.verified_at ?? null) as string | null,
    spot: data.spot === undefined ? null : spotFrom(part(data, "spot"), wavelength_m),
    speed_m_s: (part(data, "motion").speed ?? null) as number | null,
    emission_time_s: (data.emission_time ?? null) as number | null,
    tissue: chosen(tissue, PROPERTIES),
    tissue_kind: (tissue.kind ?? null) as string | null,
    own_ablation_heat: data.own_ablation_heat as boolean,
    uncertainty,
    stated: data,
  };
}

/** Return a dose request in SI units; throws BadInput with errors by field path. */
export function parse(request: unknown): DoseInput {
  return settled(request, readRequest);
}

/** Return a heat request in SI units, its duration among what is stated. */
export function parseHeat(request: unknown): DoseInput {
  return settled(request, readHeatRequest);
}

function settled(request: unknown, read: typeof readRequest): DoseInput {
  const problems: FieldErrors = {};
  const data = read(request, problems);
  refuseIfAny(problems);
  refuseIfAny(unfit(data));
  const whole = withDefaults(data);
  const given = settle(whole, absoluteUncertainties(whole));
  if (given.spot !== null) refuseIfAny(atSpot(tooSteep(given.spot)));
  return given;
}

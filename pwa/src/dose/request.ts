// The request for a dose: its shape, and its reading into SI units; see api/dose/request.py.
// Errors carry the same field paths and the same words as the server's.
import { DIAMETER_DEFINITIONS } from "./beam";
import { PULSE_SHAPES } from "./emission";
import { BadInput, type FieldErrors } from "./errors";
import { NotAQuantity, to_si_within } from "./quantity";
import { formErrors, type Spot, spotFrom, tooSteep } from "./spot";

export const MODES = ["continuous", "gated", "pulsed"] as const;
export const POWER_KINDS = ["average", "peak", "not stated"] as const;
export const POWERS = ["power", "average_power", "peak_power"] as const;
export const PULSES = [
  "pulse_energy", "pulse_duration", "repetition_rate", "pulse_period", "duty_cycle",
] as const;
export const GATES = ["gate_on", "gate_off"] as const;

export type Mode = (typeof MODES)[number];
export type PowerKind = (typeof POWER_KINDS)[number];
export type QuantityText = string | number | { value: number; unit: string };
export type EmissionName =
  | (typeof POWERS)[number] | (typeof PULSES)[number] | (typeof GATES)[number];

/** One of four ways to state a spot. */
export type SpotRequest =
  | { diameter: QuantityText; diameter_definition: (typeof DIAMETER_DEFINITIONS)[number] }
  | {
      focal_length: QuantityText; beam_diameter_at_lens: QuantityText;
      beam_quality_m2: QuantityText; defocus: QuantityText;
    }
  | { waist_diameter: QuantityText; beam_quality_m2: QuantityText; defocus: QuantityText }
  | { bore_diameter: QuantityText; distance: QuantityText; full_divergence?: QuantityText };

/** A dose request as JSON carries it. */
export interface DoseRequest {
  wavelength: QuantityText;
  emission: {
    mode: Mode;
    power_kind?: PowerKind;
    pulse_shape?: (typeof PULSE_SHAPES)[number];
  } & { [name in EmissionName]?: QuantityText };
  delivery?: {
    verified_ratio?: QuantityText;
    verified_at?: string;
    verified_ratio_uncertainty?: QuantityText;
  };
  spot?: SpotRequest;
  motion?: { speed: QuantityText };
  emission_time?: QuantityText;
}

/** A dose request in SI units. */
export interface DoseInput {
  wavelength_m: number;
  mode: Mode;
  emission: { [name in EmissionName]?: number };
  power_kind: PowerKind;
  pulse_shape: string;
  verified_ratio: number | null;
  verified_at: string | null;
  verified_ratio_uncertainty: number | null;
  spot: Spot | null;
  speed_m_s: number | null;
  emission_time_s: number | null;
}

const UNKNOWN = "is not a field of this request";
const NULL = "must not be null";
const OBJECT = "must be an object";
const REQUIRED = "is required";
const NO_CHAIN = "this engine does not work out a delivery chain: give a verified ratio";
const NO_TISSUE = "this engine does not work out effects in tissue";
const NO_UNCERTAINTY = "this engine does not carry uncertainties of inputs";
const DATE = "must be a date or a time such as 2026-11-25 or 2026-11-25T10:15:30.123+01:00";
const CLOCK = "([01][0-9]|2[0-3]):[0-5][0-9]";
const DATE_FORM = new RegExp(
  "^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])" +
    `(T${CLOCK}(:[0-5][0-9](\\.[0-9]{1,9})?)?(Z|[+-]${CLOCK}))?$`,
);

type Values = Record<string, unknown>;
/** Reads one value or throws NotAQuantity; a part reads an object and notes its own errors. */
type Field =
  | { kind: "value"; required: boolean; nullWords: string; read: (value: unknown) => unknown }
  | { kind: "part"; required: boolean; fields: Record<string, Field> };

function quantity(path: string, required = false): Field {
  return {
    kind: "value", required, nullWords: NULL, read: (value) => to_si_within(value, path),
  };
}

function choice(choices: readonly string[], required = false): Field {
  const read = (value: unknown): unknown => {
    if (typeof value === "string" && choices.includes(value)) return value;
    throw new NotAQuantity(`must be one of: ${choices.join(", ")}`);
  };
  return { kind: "value", required, nullWords: NULL, read };
}

function notOffered(reason: string): Field {
  const read = (): never => {
    throw new NotAQuantity(reason);
  };
  return { kind: "value", required: false, nullWords: reason, read };
}

function date(): Field {
  const read = (value: unknown): unknown => {
    if (typeof value === "string" && DATE_FORM.test(value)) return value;
    throw new NotAQuantity(DATE);
  };
  return { kind: "value", required: false, nullWords: NULL, read };
}

function named(names: readonly string[], make: (name: string) => Field): Record<string, Field> {
  return Object.fromEntries(names.map((name) => [name, make(name)]));
}

function part(fields: Record<string, Field>, required = false): Field {
  return { kind: "part", required, fields };
}

const REQUEST: Record<string, Field> = {
  wavelength: quantity("wavelength", true),
  emission: part(
    {
      mode: choice(MODES, true),
      power_kind: choice(POWER_KINDS),
      pulse_shape: choice(PULSE_SHAPES),
      ...named([...POWERS, ...PULSES, ...GATES], (name) => quantity(`emission.${name}`)),
    },
    true,
  ),
  delivery: part({
    verified_ratio: quantity("delivery.verified_ratio"),
    verified_ratio_uncertainty: quantity("delivery.verified_ratio_uncertainty"),
    verified_at: date(),
    ...named(
      [
        "mirror_count", "mirror_reflectance", "lens_transmittance", "window_transmittance",
        "loss", "contamination_transmittance",
      ],
      () => notOffered(NO_CHAIN),
    ),
  }),
  spot: part({
    diameter: quantity("spot.diameter"),
    diameter_definition: choice(DIAMETER_DEFINITIONS),
    ...named(
      [
        "focal_length", "beam_diameter_at_lens", "beam_quality_m2", "defocus", "waist_diameter",
        "bore_diameter", "distance", "full_divergence",
      ],
      (name) => quantity(`spot.${name}`),
    ),
  }),
  motion: part({ speed: quantity("motion.speed", true) }),
  emission_time: quantity("emission_time"),
  tissue: notOffered(NO_TISSUE),
  uncertainty: notOffered(NO_UNCERTAINTY),
};

function readPart(
  given: unknown,
  fields: Record<string, Field>,
  path: string,
  errors: FieldErrors,
): Values {
  if (typeof given !== "object" || given === null || Array.isArray(given)) {
    errors[path] = [OBJECT];
    return {};
  }
  const values: Values = {};
  const at = (name: string): string => (path === "" ? name : `${path}.${name}`);
  for (const [name, field] of Object.entries(fields)) {
    if (!Object.hasOwn(given, name)) {
      if (field.required) errors[at(name)] = [REQUIRED];
      continue;
    }
    const value = (given as Values)[name];
    if (value === null) {
      errors[at(name)] = [field.kind === "part" ? NULL : field.nullWords];
    } else if (field.kind === "part") {
      values[name] = readPart(value, field.fields, at(name), errors);
    } else {
      try {
        values[name] = field.read(value);
      } catch (problem) {
        if (!(problem instanceof NotAQuantity)) throw problem;
        errors[at(name)] = [problem.message];
      }
    }
  }
  for (const name of Object.keys(given)) {
    if (!Object.hasOwn(fields, name)) errors[at(name)] = [UNKNOWN];
  }
  return values;
}

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

/** Return a dose request in SI units; throws BadInput with errors by field path. */
export function parse(request: unknown): DoseInput {
  const problems: FieldErrors = {};
  const data = readPart(request, REQUEST, "", problems);
  refuseIfAny(problems);
  const emission = data.emission as Values;
  const delivery = (data.delivery ?? {}) as Values;
  const spot = data.spot as Values | undefined;
  const errors = misplaced(emission);
  if (spot !== undefined) {
    Object.assign(errors, atSpot(formErrors(spot, REQUIRED)));
  }
  if (!("verified_ratio" in delivery)) {
    for (const name of ["verified_at", "verified_ratio_uncertainty"]) {
      if (name in delivery) {
        errors[`delivery.${name}`] = ["has no meaning without a verified ratio"];
      }
    }
  }
  refuseIfAny(errors);
  const settled = spot === undefined ? null : spotFrom(spot, data.wavelength as number);
  if (settled !== null) refuseIfAny(atSpot(tooSteep(settled)));
  const { mode, power_kind, pulse_shape, ...quantities } = emission;
  return {
    wavelength_m: data.wavelength as number,
    mode: mode as Mode,
    emission: quantities as DoseInput["emission"],
    power_kind: (power_kind ?? "not stated") as PowerKind,
    pulse_shape: (pulse_shape ?? "rectangular") as string,
    verified_ratio: (delivery.verified_ratio ?? null) as number | null,
    verified_at: (delivery.verified_at ?? null) as string | null,
    verified_ratio_uncertainty: (delivery.verified_ratio_uncertainty ?? null) as number | null,
    spot: settled,
    speed_m_s: ((data.motion as Values | undefined)?.speed ?? null) as number | null,
    emission_time_s: (data.emission_time ?? null) as number | null,
  };
}

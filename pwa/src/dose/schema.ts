// The shape of a dose request: its fields, their ranges, and the words that refuse them; see
// api/dose/schema.py. Errors carry the same field paths and the same words as the server's.
import { DIAMETER_DEFINITIONS } from "./beam";
import { RANGES, TISSUES } from "./constants";
import { PULSE_SHAPES } from "./emission";
import type { FieldErrors } from "./errors";
import { NotAQuantity, to_si_within, uncertainty_within } from "./quantity";

export const MODES = ["continuous", "gated", "pulsed"] as const;
export const POWER_KINDS = ["average", "peak", "not stated"] as const;
export const POWERS = ["power", "average_power", "peak_power"] as const;
export const PULSES = [
  "pulse_energy", "pulse_duration", "repetition_rate", "pulse_period", "duty_cycle",
] as const;
export const GATES = ["gate_on", "gate_off"] as const;

export const CHAIN = [
  "mirror_count", "mirror_reflectance", "lens_transmittance", "window_transmittance", "loss",
  "contamination_transmittance",
] as const;
export const RATIO = ["verified_ratio", "verified_ratio_uncertainty"] as const;
export const PROPERTIES = [
  "water_fraction", "density", "specific_heat", "conductivity", "ablation_threshold",
  "ablation_heat",
] as const;
/** A count has no uncertainty. */
export const EXACT: readonly string[] = ["delivery.mirror_count"];

export type Mode = (typeof MODES)[number];
export type PowerKind = (typeof POWER_KINDS)[number];
export type QuantityText = string | number | { value: number; unit: string };
export type EmissionName =
  | (typeof POWERS)[number] | (typeof PULSES)[number] | (typeof GATES)[number];

export type DeliveryName = (typeof CHAIN)[number] | (typeof RATIO)[number];
export type PropertyName = (typeof PROPERTIES)[number];

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
  delivery?: { verified_at?: string } & { [name in DeliveryName]?: QuantityText };
  spot?: SpotRequest;
  motion?: { speed: QuantityText };
  emission_time?: QuantityText;
  tissue?: { kind?: string } & { [name in PropertyName]?: QuantityText };
  /** {field path: standard uncertainty}; a pure number is relative. */
  uncertainty?: Record<string, QuantityText>;
}

const UNKNOWN = "is not a field of this request";
const NULL = "must not be null";
const OBJECT = "must be an object";
export const REQUIRED = "is required";
const NOT_WHOLE = "must be a whole number";
const IS_EXACT = "is a count and has no uncertainty";
const DATE = "must be a date or a time such as 2026-11-25 or 2026-11-25T10:15:30.123+01:00";
const CLOCK = "([01][0-9]|2[0-3]):[0-5][0-9]";
const DATE_FORM = new RegExp(
  "^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])" +
    `(T${CLOCK}(:[0-5][0-9](\\.[0-9]{1,9})?)?(Z|[+-]${CLOCK}))?$`,
);

export type Values = Record<string, unknown>;
/** Reads one value or throws NotAQuantity; the others read an object and note their own errors. */
type Field =
  | { kind: "value"; required: boolean; read: (value: unknown) => unknown }
  | { kind: "part"; required: boolean; fields: Record<string, Field> }
  | { kind: "uncertainties"; required: false };

function quantity(path: string, required = false): Field {
  return { kind: "value", required, read: (value) => to_si_within(value, path) };
}

function choice(choices: readonly string[], required = false): Field {
  const read = (value: unknown): unknown => {
    if (typeof value === "string" && choices.includes(value)) return value;
    throw new NotAQuantity(`must be one of: ${choices.join(", ")}`);
  };
  return { kind: "value", required, read };
}

function wholeNumber(path: string): Field {
  const read = (value: unknown): unknown => {
    const number = to_si_within(value, path);
    if (Number.isInteger(number)) return number;
    throw new NotAQuantity(NOT_WHOLE);
  };
  return { kind: "value", required: false, read };
}

function date(): Field {
  const read = (value: unknown): unknown => {
    if (typeof value === "string" && DATE_FORM.test(value)) return value;
    throw new NotAQuantity(DATE);
  };
  return { kind: "value", required: false, read };
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
    mirror_count: wholeNumber("delivery.mirror_count"),
    ...named(CHAIN.slice(1), (name) => quantity(`delivery.${name}`)),
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
  tissue: part({
    kind: choice(Object.keys(TISSUES)),
    ...named(PROPERTIES, (name) => quantity(`tissue.${name}`)),
  }),
  uncertainty: { kind: "uncertainties", required: false },
};

function isObject(given: unknown): given is Values {
  return typeof given === "object" && given !== null && !Array.isArray(given);
}

/** Read one value; what is wrong with it goes into the errors at its path. */
function readAt(errors: FieldErrors, path: string, read: () => unknown): unknown {
  try {
    return read();
  } catch (problem) {
    if (!(problem instanceof NotAQuantity)) throw problem;
    errors[path] = [problem.message];
    return undefined;
  }
}

function readUncertainties(given: unknown, path: string, errors: FieldErrors): Values {
  if (!isObject(given)) {
    errors[path] = [OBJECT];
    return {};
  }
  const values: Values = {};
  for (const [name, value] of Object.entries(given)) {
    const at = `${path}.${name}`;
    if (!Object.hasOwn(RANGES, name) || name.endsWith("_uncertainty")) errors[at] = [UNKNOWN];
    else if (EXACT.includes(name)) errors[at] = [IS_EXACT];
    else values[name] = readAt(errors, at, () => uncertainty_within(value, name));
  }
  return values;
}

function readPart(
  given: unknown,
  fields: Record<string, Field>,
  path: string,
  errors: FieldErrors,
): Values {
  if (!isObject(given)) {
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
    const value = given[name];
    if (value === null) errors[at(name)] = [NULL];
    else if (field.kind === "part") values[name] = readPart(value, field.fields, at(name), errors);
    else if (field.kind === "uncertainties") {
      values[name] = readUncertainties(value, at(name), errors);
    } else values[name] = readAt(errors, at(name), () => field.read(value));
  }
  for (const name of Object.keys(given)) {
    if (!Object.hasOwn(fields, name)) errors[at(name)] = [UNKNOWN];
  }
  return values;
}

/** Return what a request states, in SI units by field; what is wrong goes into the errors. */
export function readRequest(request: unknown, errors: FieldErrors): Values {
  return readPart(request, REQUEST, "", errors);
}

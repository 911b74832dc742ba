// The shape of a dose request: its fields, their ranges, and the words that refuse them; see
// api/dose/schema.py. Errors carry the same field paths and the same words as the server's.
import { DIAMETER_DEFINITIONS } from "./beam";
import { RANGES, TISSUES } from "./constants";
import { PULSE_SHAPES } from "./emission";
import type { FieldErrors } from "./errors";
import { NotAQuantity, to_si_within, uncertainty_within } from "./quantity";
import {
  choice, type Field, isObject, named, OBJECT, part, readAt, readPart, UNKNOWN, value, type Values,
} from "./reading";

export { REQUIRED, type Values } from "./reading";

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

/** A dose request, and how long the simulation lasts. */
export interface HeatRequest extends DoseRequest {
  duration: QuantityText;
}

const NOT_WHOLE = "must be a whole number";
const IS_EXACT = "is a count and has no uncertainty";
const DATE = "must be a date or a time such as 2026-11-25 or 2026-11-25T10:15:30.123+01:00";
const CLOCK = "([01][0-9]|2[0-3]):[0-5][0-9]";
const DATE_FORM = new RegExp(
  "^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])" +
    `(T${CLOCK}(:[0-5][0-9](\\.[0-9]{1,9})?)?(Z|[+-]${CLOCK}))?$`,
);

function quantity(path: string, required = false): Field {
  return value((given) => to_si_within(given, path), required);
}

function wholeNumber(path: string): Field {
  return value((given) => {
    const number = to_si_within(given, path);
    if (Number.isInteger(number)) return number;
    throw new NotAQuantity(NOT_WHOLE);
  });
}

function date(): Field {
  return value((given) => {
    if (typeof given === "string" && DATE_FORM.test(given)) return given;
    throw new NotAQuantity(DATE);
  });
}

function readUncertainties(given: unknown, path: string, errors: FieldErrors): Values {
  if (!isObject(given)) {
    errors[path] = [OBJECT];
    return {};
  }
  const values: Values = {};
  for (const [name, stated] of Object.entries(given)) {
    const at = `${path}.${name}`;
    if (!Object.hasOwn(RANGES, name) || name.endsWith("_uncertainty")) errors[at] = [UNKNOWN];
    else if (EXACT.includes(name)) errors[at] = [IS_EXACT];
    else values[name] = readAt(errors, at, () => uncertainty_within(stated, name));
  }
  return values;
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
  uncertainty: { kind: "own", required: false, read: readUncertainties },
};

const HEAT: Record<string, Field> = { ...REQUEST, duration: quantity("duration", true) };

/** Return what a request states, in SI units by field; what is wrong goes into the errors. */
export function readRequest(request: unknown, errors: FieldErrors): Values {
  return readPart(request, REQUEST, "", errors);
}

/** The same of a heat request. */
export function readHeatRequest(request: unknown, errors: FieldErrors): Values {
  return readPart(request, HEAT, "", errors);
}

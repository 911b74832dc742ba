// The shape of a hazard request; see api/dose/hazard/schema.py.
import type { FieldErrors } from "../errors";
import { NotAQuantity } from "../quantity";
import { between, choice, type Field, named, part, readPart, value, type Values } from "../reading";
import { RANGES, TARGETS } from "./constants";
import { EDITIONS } from "./editions";

export { REQUIRED } from "../reading";

const DEFINITIONS = ["63 %", "1/e2"];
const WINDOWS = ["5 s", "10 s"];
const BOOLEAN = "must be true or false";

function quantity(path: string, required = false): Field {
  const limits = RANGES[path];
  if (limits === undefined) throw new RangeError(`${path} is no quantity of a request`);
  return between(limits, required);
}

function boolean(): Field {
  return value((given) => {
    if (typeof given === "boolean") return given;
    throw new NotAQuantity(BOOLEAN);
  });
}

const REQUEST: Record<string, Field> = {
  wavelength: quantity("wavelength", true),
  exposure_time: quantity("exposure_time"),
  target: choice(TARGETS),
  edition: choice(EDITIONS),
  emission: part(
    named(["power", "pulse_energy", "pulse_duration", "repetition_rate"], (name) => quantity(`emission.${name}`)),
    true,
  ),
  beam: part({
    diameter: quantity("beam.diameter"),
    diameter_definition: choice(DEFINITIONS),
    full_divergence: quantity("beam.full_divergence"),
  }),
  lens: part({
    focal_length: quantity("lens.focal_length", true),
    beam_diameter: quantity("lens.beam_diameter", true),
    diameter_definition: choice(DEFINITIONS, true),
  }),
  tip: part({
    diameter: quantity("tip.diameter", true),
    full_divergence: quantity("tip.full_divergence", true),
  }),
  reflection: part({ reflectance: quantity("reflection.reflectance"), angle: quantity("reflection.angle") }),
  skin: part({ exposed_area: quantity("skin.exposed_area", true) }),
  eyewear: part({
    material: choice(["glass", "plastic"]),
    beam_size_factor: boolean(),
    accumulation_window: choice(WINDOWS),
  }),
};

/** Return what a request states, in SI units by field; what is wrong goes into the errors. */
export function readRequest(request: unknown, errors: FieldErrors): Values {
  return readPart(request, REQUEST, "", errors);
}

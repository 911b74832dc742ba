/** What each number of a zone is made from, and where each of these came from. */
import type { HazardResponse } from "../../dose/hazard/evaluate";
import type { Fact } from "../../parts/dose";
import { statusText } from "../../parts/provenance";
import { quantityText } from "../../parts/quantity";
import type { HazardRequest } from "../../session/rooms";
import { localNumbers, t } from "../../text";

const LIMIT = ["wavelength", "exposure_time", "target"];
const EXPOSED = ["power", "limit"];

/** The inputs of each number, in the order in which they are shown. */
export const ZONE_FROM: Readonly<Record<string, readonly string[]>> = {
  exposure_limit_irradiance: LIMIT,
  direct_distance: [...EXPOSED, "beam_divergence", "beam_diameter"],
  lens_distance: [...EXPOSED, "focal_length", "lens_beam"],
  tip_distance: [...EXPOSED, "tip_diameter", "tip_divergence"],
  diffuse_distance: [...EXPOSED, "reflectance", "angle"],
  optical_density: [...EXPOSED, "aperture", "beam_diameter", "beam_whole"],
  en207_d: ["power", "wavelength", "aperture", "beam_diameter", "beam_whole", "factor", "material"],
};

/** A field of a zone's request as the screen calls it. */
export function fieldName(path: string): string {
  const { input } = t.dose as { input: Record<string, string> };
  const names: Record<string, string | undefined> = {
    wavelength: input["wavelength"], exposure_time: t.rooms.time, "emission.power": t.rooms.power,
    "beam.full_divergence": t.rooms.divergence, "beam.diameter": t.rooms.beam,
    "lens.focal_length": input["focal_length"], "lens.beam_diameter": input["beam_diameter_at_lens"],
    "tip.diameter": t.rooms.input.tip_diameter, "tip.full_divergence": input["full_divergence"],
  };
  return names[path] ?? path;
}

type Part = Record<string, string> | undefined;

/** Every input of a zone's request with its value, origin and status, by the names of `ZONE_FROM`. */
export function zoneFacts(request: HazardRequest, response: HazardResponse): Record<string, Fact> {
  const facts: Record<string, Fact> = {};
  const { origin, status, input } = t.dose as typeof t.dose & { origin: Record<string, string>; status: Record<string, string> };
  const names = t.rooms.input;
  const put = (key: string, name: string, value: string | undefined, from: string, how: string) => {
    if (value !== undefined) facts[key] = { name, value: quantityText(value), origin: from, status: how };
  };
  const [register, tip, assumed] = [origin["device"]!, origin["handpiece"]!, origin["assumed"]!];
  const [stated, unstated] = [status["stated"]!, status["unstated"]!];
  const [emission, lens, end, beam, eyewear] = ["emission", "lens", "tip", "beam", "eyewear"].map((part) => request[part] as Part);
  put("power", t.rooms.power, emission?.["power"], register, stated);
  put("wavelength", input["wavelength"]!, request["wavelength"] as string, register, stated);
  put("exposure_time", t.rooms.time, request["exposure_time"] as string, assumed, statusText("practice"));
  put("target", names.target, t.rooms.eye, assumed, unstated);
  put("focal_length", input["focal_length"]!, lens?.["focal_length"], tip, stated);
  put("lens_beam", input["beam_diameter_at_lens"]!, lens && `${lens["beam_diameter"]} (1/e²)`, tip, stated);
  put("tip_diameter", names.tip_diameter, end && `${end["diameter"]} (1/e²)`, tip, stated);
  put("tip_divergence", input["full_divergence"]!, end?.["full_divergence"], tip, stated);
  put("beam_divergence", t.rooms.divergence, beam?.["full_divergence"], origin["entered"]!, stated);
  if (Number.parseFloat(beam?.["diameter"] ?? "0") > 0) put("beam_diameter", t.rooms.beam, beam!["diameter"], origin["entered"]!, stated);
  else put("beam_whole", names.beam_whole, t.rooms.whole, assumed, unstated);
  put("reflectance", names.reflectance, "1", assumed, unstated);
  put("angle", names.angle, "0°", assumed, unstated);
  put("material", t.rooms.material, t.rooms.materials[eyewear?.["material"] as "glass" | "plastic"], t.rooms.chosen, stated);
  put("factor", t.rooms.factor, t.rooms.factors[eyewear?.["beam_size_factor"] ? "on" : "off"], t.rooms.chosen, stated);
  const [limit, aperture] = [response.results["exposure_limit_irradiance"], response.results["limiting_aperture"]];
  const ofLimits = `${t.rooms.fromLimits}, ${response.edition}`;
  if (limit) put("limit", t.rooms.limit, limitText(limit.value as number), ofLimits, statusText("transcribed"));
  if (aperture) put("aperture", names.aperture, distanceInMm(aperture.value as number), ofLimits, statusText("transcribed"));
  return facts;
}

/** A limit as it is shown, three digits. */
export const limitText = (w_m2: number): string => `${localNumbers(String(Number(w_m2.toPrecision(3))))}\u00a0W/m²`;

const distanceInMm = (mm: number): string => localNumbers(`${Number(mm.toPrecision(3))} mm`);

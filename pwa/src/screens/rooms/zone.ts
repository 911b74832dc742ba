/** The zone of one laser in one room: its inputs as typed, and what the hazard engine says of them. */
import type { HazardResponse } from "../../dose/hazard/evaluate";
import { BadInput, respond } from "../../dose/hazard/evaluate";
import { readTyped } from "../../parts/number";
import type { Typed } from "../../parts/quantity";
import { requestOf, type HazardRequest, type ZoneSaid } from "../../session/rooms";
import type { Device, Handpiece } from "../../session/types";

export interface ZoneForm {
  handpiece_id: string | null;
  edition: string;
  material: string;
  factor: boolean;
  divergence: Typed;
  beam: Typed;
  everybody: boolean;
  smaller: Typed;
  reason: string;
}

/** In the order in which they are shown; the scattered one never decides. */
export const DISTANCES = ["direct_distance", "lens_distance", "tip_distance", "diffuse_distance"] as const;
const DECIDING = ["direct_distance", "lens_distance", "tip_distance"] as const;

export function freshForm(handpiece_id: string | null): ZoneForm {
  return {
    handpiece_id, edition: "ICNIRP 2013", material: "glass", factor: false,
    divergence: { raw: "", unit: "mrad" }, beam: { raw: "", unit: "mm" },
    everybody: true, smaller: { raw: "", unit: "m" }, reason: "",
  };
}

const asText = (typed: Typed): string | null => {
  const read = readTyped(typed);
  return read.kind === "number" ? `${read.text} ${typed.unit}` : null;
};

/** The request that the form means; null where the laser's greatest power is not registered. */
export function requestFrom(form: ZoneForm, device: Device, handpiece: Handpiece | null): HazardRequest | null {
  const request = requestOf(device, handpiece);
  if (request === null) return null;
  const divergence = asText(form.divergence);
  if (divergence !== null) {
    request["beam"] = { full_divergence: divergence, diameter: asText(form.beam) ?? "0 mm", diameter_definition: "1/e2" };
  }
  request["edition"] = form.edition;
  request["eyewear"] = { material: form.material, beam_size_factor: form.factor };
  return request;
}

/** The handpiece with which the beam reaches farthest: what is worked out must hold for all of them. */
export function farthestTip(device: Device, tips: readonly Handpiece[]): Handpiece | null {
  const reach = (tip: Handpiece): number => {
    const request = requestOf(device, tip);
    const answer = request === null ? null : answerOf(request);
    return (answer?.ok ? decidingMm(answer.response) : null) ?? -1;
  };
  return tips.reduce<Handpiece | null>((best, tip) => (best !== null && reach(best) >= reach(tip) ? best : tip), null);
}

export type Answer = { ok: true; response: HazardResponse } | { ok: false; errors: Record<string, string[]> };

export function answerOf(request: HazardRequest): Answer {
  try {
    return { ok: true, response: respond(request) };
  } catch (problem) {
    if (!(problem instanceof BadInput)) throw problem;
    return { ok: false, errors: problem.errors };
  }
}

const value = (response: HazardResponse, name: string): number | null => {
  const found = response.results[name]?.value;
  return typeof found === "number" ? found : null;
};

/** The distances that could be worked out [mm], to be drawn. */
export function distancesOf(response: HazardResponse): { name: string; distance_mm: number }[] {
  return DISTANCES.flatMap((name) => {
    const metres = value(response, name);
    return metres === null ? [] : [{ name, distance_mm: metres * 1000 }];
  });
}

/** The farthest distance that counts for eyewear [mm]; null where none could be worked out. */
export function decidingMm(response: HazardResponse): number | null {
  const found = DECIDING.flatMap((name) => value(response, name) ?? []);
  return found.length === 0 ? null : Math.max(...found) * 1000;
}

export type ZoneProblem = "reason" | "distance" | null;

/** What keeps the decision from being kept, and the smaller distance where one is chosen [mm]. */
export function judgeDecision(form: ZoneForm, computed_mm: number | null): { problem: ZoneProblem; smaller_mm: number | null } {
  if (form.everybody) return { problem: null, smaller_mm: null };
  const read = readTyped(form.smaller);
  const smaller_mm = read.kind === "number" ? Number(read.text) * (form.smaller.unit === "cm" ? 10 : 1000) : null;
  if (smaller_mm === null || smaller_mm <= 0 || (computed_mm !== null && smaller_mm >= computed_mm)) return { problem: "distance", smaller_mm: null };
  return { problem: form.reason.trim() === "" ? "reason" : null, smaller_mm };
}

/** The decision with everything it stands on, by value. */
export function zoneFrom(form: ZoneForm, device: Device, request: HazardRequest, response: HazardResponse): ZoneSaid {
  const smaller = form.everybody ? null : asText(form.smaller);
  return {
    device_id: device.device_id,
    handpiece_id: form.handpiece_id,
    request,
    edition: response.edition,
    results: Object.fromEntries(Object.entries(response.results).map(([name, one]) =>
      [name, `${one.value} ${one.unit === "1" ? "" : one.unit}`.trim()])),
    everybody: form.everybody,
    smaller: smaller === null ? null : { distance: smaller, reason: form.reason.trim() },
  };
}

/** Whether a decision was made on other inputs than those registered now. */
export function standsOnOther(zone: ZoneSaid, device: Device, handpiece: Handpiece | null): boolean {
  const now = requestOf(device, handpiece);
  const of = (request: HazardRequest | null) => JSON.stringify(["wavelength", "emission", "lens", "tip"].map((name) => request?.[name] ?? null));
  return of(now) !== of(zone.request);
}

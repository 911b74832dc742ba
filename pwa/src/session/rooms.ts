/** Rooms and their hazard zones: what a laser's registered facts ask of the hazard engine. */
import { computed } from "@preact/signals";
import { newId } from "../events/ids";
import type { StoredEvent } from "../outbox/read";
import type { Device, Handpiece } from "./types";
import type { RoomDocument, RoomPlanSaid, ZoneSaid } from "./types_rooms";
import { say } from "./commands_house";
import { house } from "./house";
import { eventsOf } from "./written";

export type { RoomDocument, RoomPlanSaid, ZoneSaid } from "./types_rooms";

export type HazardRequest = Record<string, unknown>;

/** From 10 s on the limit of a CO2 laser is the same for the whole day. */
const EXPOSURE = "10 s";

/**
 * The hazard request of a laser with a handpiece: its greatest power, never a present setting, and
 * what is registered of lens or tip. Null where its greatest power is not registered.
 */
export function requestOf(device: Device, handpiece: Handpiece | null): HazardRequest | null {
  const power = device.limits?.["average_power"]?.max;
  if (!power) return null;
  const optics = handpiece?.optics ?? {};
  const request: HazardRequest = { wavelength: device.wavelength, exposure_time: EXPOSURE, emission: { power } };
  if (optics["focal_length"] && optics["beam_diameter_at_lens"]) {
    request["lens"] = {
      focal_length: optics["focal_length"], beam_diameter: optics["beam_diameter_at_lens"], diameter_definition: "1/e2",
    };
  }
  if (handpiece && handpiece.kind === "waveguide tip" && optics["full_divergence"]) {
    request["tip"] = { diameter: handpiece.spot_diameter, full_divergence: optics["full_divergence"] };
  }
  return request;
}

/** A room's document with what this tablet said about it and the server has not sent back yet. Pure. */
export function withSaid(document: RoomDocument, said: readonly Pick<StoredEvent, "event_id" | "body" | "payload">[]): RoomDocument {
  const newer = (known: { event_id: string } | null | undefined, event_id: string): boolean =>
    known == null || known.event_id < event_id;
  return said.reduce((room, { event_id, body, payload }) => {
    const mark = { event_id, at: body.occurred_at, by: body.actor_id };
    if (body.type === "room.drawn" && newer(room.plan, event_id)) {
      return { ...room, plan: { ...(payload as unknown as RoomPlanSaid), ...mark } };
    }
    if (body.type !== "zone.decided") return room;
    const zone = { ...(payload as unknown as ZoneSaid), ...mark };
    if (!newer(room.zones.find((one) => one.device_id === zone.device_id), event_id)) return room;
    return { ...room, zones: [...room.zones.filter((one) => one.device_id !== zone.device_id), zone] };
  }, document);
}

/** Every room of this place, drawn or not. */
export const rooms = computed<RoomDocument[]>(() => {
  const known = new Map(house.value.rooms.map((room) => [room.room_id, room]));
  for (const { room_id } of house.value.place?.rooms ?? []) {
    if (!known.has(room_id)) known.set(room_id, { room_id, plan: null, zones: [] });
  }
  return [...known.values()].map((room) => withSaid(room, eventsOf(room.room_id)));
});

export const roomName = (room: RoomDocument): string =>
  room.plan?.name ?? house.value.place?.rooms.find(({ room_id }) => room_id === room.room_id)?.name ?? room.room_id;

export async function drawRoom(room_id: string, plan: RoomPlanSaid, key: string = newId()): Promise<void> {
  await say({ type: "room.drawn", entity_id: room_id, payload: { ...plan } }, key);
}

export async function decideZone(room_id: string, zone: ZoneSaid, key: string = newId()): Promise<void> {
  await say({ type: "zone.decided", entity_id: room_id, payload: { ...zone } }, key);
}

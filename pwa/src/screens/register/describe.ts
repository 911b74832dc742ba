/** What stands of a thing in a line: its facts, where it is, and in which state. */
import { quantityText } from "../../parts/quantity";
import { personName } from "../../session/house";
import { rooms, roomName } from "../../session/rooms";
import {
  covers, devices, inUse, keyOut, lastInspection, type EyewearPiece, type Kept, type KeptDevice, type KeptHandpiece, type KeyMove, type LaserKey, type PowerMeter, type RegisterKind,
} from "../../session/registers";
import { usesOf } from "../../session/uses";
import { localNumbers, t } from "../../text";
import { dayText } from "../day";

export const roomOf = (room_id: string | null | undefined): string | null => {
  if (!room_id) return null;
  const room = rooms.value.find((one) => one.room_id === room_id);
  return room ? roomName(room) : room_id;
};
export const laserName = (device_id: string): string =>
  devices.value.find((one) => one.device_id === device_id)?.label ?? device_id;

/** Who has a key. */
export const holderOf = (move: KeyMove): string => personName(move.holder_id) ?? move.holder ?? t.common.unknownPerson;

/** What tells it from others of its kind. */
export function factsOf(kind: RegisterKind, thing: Kept): string {
  const w = t.registers;
  switch (kind) {
    case "device": { const one = thing as KeptDevice; return [one.maker, one.model, w.serialNumber(one.serial), quantityText(one.wavelength)].join(", "); }
    case "handpiece": { const one = thing as KeptHandpiece; return [laserName(one.device_id), w.handpieceKinds[one.kind] ?? one.kind, quantityText(one.spot_diameter)].join(", "); }
    case "eyewear": { const one = thing as EyewearPiece; return [markedRange(one), w.density(localNumbers(one.optical_density)), one.marking].filter(Boolean).join(", "); }
    case "key": return laserName((thing as LaserKey).device_id);
    case "meter": { const one = thing as PowerMeter; return [w.serialNumber(one.serial), w.calibratedOn(dayText(one.calibrated_on))].join(", "); }
  }
}

/** As it is marked: both ends in the unit of the second, where they are in one. */
export function markedRange({ shortest_wavelength, longest_wavelength }: Pick<EyewearPiece, "shortest_wavelength" | "longest_wavelength">): string {
  const [from = "", unit] = shortest_wavelength.split(" ");
  return longest_wavelength.endsWith(` ${unit}`) ? `${localNumbers(from)}–${quantityText(longest_wavelength)}` : `${quantityText(shortest_wavelength)}–${quantityText(longest_wavelength)}`;
}

/** Where it is kept. */
export function whereOf(kind: RegisterKind, thing: Kept): string | null {
  if (kind === "device" || kind === "eyewear") return roomOf((thing as KeptDevice | EyewearPiece).room_id);
  if (kind === "key") {
    const out = keyOut(thing as LaserKey);
    return out ? t.registers.keyWith(holderOf(out)) : (thing as LaserKey).kept_at;
  }
  if (kind === "handpiece") return roomOf(devices.value.find((one) => one.device_id === (thing as KeptHandpiece).device_id)?.room_id);
  return null;
}

/** What is the matter with it; null where nothing is. */
export function troubleOf(kind: RegisterKind, thing: Kept, today: string): string | null {
  const w = t.registers;
  if (!inUse(thing)) return w.retiredBecause(thing.retired?.reason ?? "");
  if (kind === "eyewear") {
    const piece = thing as EyewearPiece;
    if (lastInspection(piece)?.outcome === "failed") return w.failedInspection;
    const lasers = devices.value.filter((one) => inUse(one) && one.room_id !== null && one.room_id === piece.room_id);
    return lasers.some((one) => covers(piece, one.wavelength) === false) ? w.wrongWavelength : null;
  }
  if (kind === "handpiece") {
    const { use_limit, handpiece_id } = thing as KeptHandpiece;
    return use_limit && usesOf(handpiece_id) >= use_limit ? w.usedUp : null;
  }
  if (kind === "meter") return overdue(thing as PowerMeter, today) ? w.calibrationOver : null;
  return null;
}

/** Whether a certificate's own day is over; the practice's rule is among what is due. */
export const overdue = (meter: PowerMeter, today: string): boolean => meter.due_on !== null && meter.due_on !== undefined && meter.due_on < today;

export function usesText(one: KeptHandpiece): string {
  const uses = usesOf(one.handpiece_id);
  return one.use_limit ? t.registers.usesOf(uses, one.use_limit) : t.registers.uses(uses);
}

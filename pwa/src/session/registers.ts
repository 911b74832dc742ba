/** The registers: eyewear, keys, meters, lasers and handpieces, as the server has them and as this tablet has said since. */
import { computed } from "@preact/signals";
import { NotAQuantity, to_si } from "../dose/quantity";
import { newId } from "../events/ids";
import type { Certificate, EventType } from "../events/catalogue";
import { checks } from "./checks";
import { say } from "./commands_house";
import { dueRows, dueRules, type DueDocuments, type DueRow } from "./due";
import { house } from "./house";
import { deviceChecks } from "./house_checks";
import { lists } from "./house_lists";
import { withSaid } from "./own-register";
import { rooms } from "./rooms";
import { zone } from "./state";
import type { Device, Handpiece } from "./types";
import { incidents, maintenance } from "./upkeep";
import { eventsOf, writtenAbout } from "./written";

interface Mark { event_id: string; at: string; by: string | null }
/** What every thing in a register has; `status` is "retired" for what is not used any more. */
export interface Kept { label: string; status: string; retired?: ({ reason: string } & Mark) | null; event_id?: string; at?: string; by?: string | null }
export interface Inspection extends Mark { outcome: "passed" | "failed"; note: string | null }
export interface EyewearPiece extends Kept {
  eyewear_id: string; shortest_wavelength: string; longest_wavelength: string; optical_density: string;
  marking?: string | null; room_id?: string | null; note?: string | null; inspections?: Inspection[];
}
export interface KeyMove extends Mark { direction: "out" | "in"; holder_id?: string | null; holder?: string | null; note?: string | null }
export interface LaserKey extends Kept { key_id: string; device_id: string; kept_at: string; movements?: KeyMove[] }
export interface Calibration extends Mark { calibrated_on: string; due_on: string | null; uncertainty: string | null; certificate: string | null; certificates?: Certificate[] | null }
export interface PowerMeter extends Kept {
  meter_id: string; serial: string; calibrated_on: string; due_on: string | null; uncertainty: string | null; certificate: string | null; certificates?: Certificate[] | null; calibrations?: Calibration[];
}
export type KeptDevice = Device & Kept & { laser_class?: string; beam?: Record<string, string | null> | null };
export type KeptHandpiece = Handpiece & Kept & { optics_known?: Record<string, string | null> | null };
export interface Counted { kind: string; subject_id: string; label: string; where: string | null; state: string | null; seen: boolean }
export interface Inventory extends Mark { inventory_id: string; seen_on: string; items: Counted[]; citation: string | null; note: string | null }
export interface DueRuleSaid { due_rule_id: string; every_days?: number | null; every_months?: number | null; citation: string; by?: string | null; at?: string }

export const REGISTERS = ["device", "handpiece", "eyewear", "key", "meter"] as const;
export type RegisterKind = (typeof REGISTERS)[number];
type Loose = Record<string, unknown>;

const TYPES: Readonly<Record<string, readonly EventType[]>> = {
  device: ["device.registered", "device.retired"],
  handpiece: ["handpiece.registered", "handpiece.retired"],
  eyewear: ["eyewear.registered", "eyewear.inspected", "eyewear.retired"],
  key: ["key.registered", "key.moved", "key.retired"],
  meter: ["meter.registered", "meter.calibrated", "meter.retired"],
  inventory: ["inventory.taken"],
  due_rule: ["due_rule.set"],
};

function all<T>(kind: string): readonly T[] {
  const id = `${kind}_id`;
  const types = TYPES[kind] ?? [];
  const known = new Map((house.value.documents[kind] ?? []).map((doc) => [doc[id] as string, doc as Loose | null]));
  for (const one of writtenAbout(types)) if (!known.has(one)) known.set(one, null);
  const folded = [...known].map(([one, doc]) => withSaid(doc, eventsOf(one), types)).filter((doc) => doc !== null);
  return folded.sort((a, b) => String(a["label"] ?? a[id]).localeCompare(String(b["label"] ?? b[id]))) as unknown as T[];
}

export const devices = computed(() => all<KeptDevice>("device"));
export const handpieces = computed(() => all<KeptHandpiece>("handpiece"));
export const eyewear = computed(() => all<EyewearPiece>("eyewear"));
export const keys = computed(() => all<LaserKey>("key"));
export const meters = computed(() => all<PowerMeter>("meter"));
export const inventories = computed(() => [...all<Inventory>("inventory")].sort((a, b) => (a.seen_on < b.seen_on ? 1 : -1)));
export const dueRuleDocuments = computed(() => all<DueRuleSaid>("due_rule"));

export const inUse = (one: Kept): boolean => one.status === "current";

/** The things of one register, by their ids. */
export function things(kind: RegisterKind): { id: string; thing: Kept }[] {
  const of: Record<RegisterKind, readonly Kept[]> = {
    device: devices.value, handpiece: handpieces.value, eyewear: eyewear.value, key: keys.value, meter: meters.value,
  };
  return of[kind].map((thing) => ({ id: (thing as unknown as Record<string, string>)[`${kind}_id`]!, thing }));
}

/** The last inspection; a piece whose last one failed protects nobody. */
export const lastInspection = (piece: EyewearPiece): Inspection | null => piece.inspections?.at(-1) ?? null;
export const wearable = (piece: EyewearPiece): boolean => inUse(piece) && lastInspection(piece)?.outcome !== "failed";
/** Who has a key now; null while it is where it is kept. */
export const keyOut = (key: LaserKey): KeyMove | null => {
  const last = key.movements?.at(-1);
  return last?.direction === "out" ? last : null;
};

/** Whether a piece is marked for a wavelength; null where either cannot be read. */
export function covers(piece: Pick<EyewearPiece, "shortest_wavelength" | "longest_wavelength">, wavelength: string): boolean | null {
  try {
    const at = to_si(wavelength, "m");
    // As exact as two ways to write the same number are.
    return at >= to_si(piece.shortest_wavelength, "m") * (1 - 1e-9) && at <= to_si(piece.longest_wavelength, "m") * (1 + 1e-9);
  } catch (problem) {
    if (problem instanceof NotAQuantity) return null;
    throw problem;
  }
}

export interface Lack { room_id: string; device: Device; good: number; heads: number; density: number | null }

/** Patient, operator and assistant: common practice, no source. */
export const USUAL_HEADS = 3;

/** Rooms with fewer pieces of eyewear, fit for a laser that stands there, than heads. Pure. */
export function lacking(
  pieces: readonly EyewearPiece[], lasers: readonly Device[], heads: (room_id: string) => number, density: (room_id: string, device_id: string) => number | null,
): Lack[] {
  return lasers.flatMap((device) => {
    const { room_id } = device;
    if (!room_id) return [];
    const needed = density(room_id, device.device_id);
    const good = pieces.filter((piece) => wearable(piece) && piece.room_id === room_id && covers(piece, device.wavelength) === true
      && (needed === null || Number(piece.optical_density) >= needed)).length;
    return good < heads(room_id) ? [{ room_id, device, good, heads: heads(room_id), density: needed }] : [];
  });
}

/** The same of this house; how dense it has to be is what the decision about the room says. */
export const eyewearLacking = computed<Lack[]>(() => lacking(eyewear.value, devices.value.filter(inUse), headsIn, (room_id, device_id) => {
  const zone = rooms.value.find((one) => one.room_id === room_id)?.zones.find((one) => one.device_id === device_id);
  const density = Number(zone?.results["optical_density"]);
  return zone && Number.isFinite(density) ? density : null;
}));

/** The most heads that were noted in a room; until then as many as there usually are. */
function headsIn(room_id: string): number {
  const name = house.value.place?.rooms.find((one) => one.room_id === room_id)?.name;
  const noted = house.value.records.flatMap((doc) => {
    const protection = doc["protection"] as { heads?: number } | null | undefined;
    return doc["room"] === name && doc["status"] !== "void" && protection?.heads ? [protection.heads] : [];
  });
  return Math.max(USUAL_HEADS, ...noted);
}

/** What the due days are reckoned from, with what this tablet said itself. */
export const dueDocuments = computed<DueDocuments>(() => ({
  ...house.value.documents,
  device: devices.value, eyewear: eyewear.value, meter: meters.value, inventory: inventories.value, due_rule: dueRuleDocuments.value, verification: checks.value, list: lists.value, device_check: deviceChecks.value, maintenance: maintenance.value, incident: incidents.value,
}));
export const dueNow = (at_ms: number): DueRow[] => dueRows(dueDocuments.value, at_ms, house.value.place?.zone ?? zone.value);
export const rulesNow = () => dueRules(dueRuleDocuments.value as unknown as readonly Loose[]);

/** Say something about a thing of a register. */
export async function sayOf(type: EventType, entity_id: string, payload: object, key: string = newId()): Promise<void> {
  await say({ type, entity_id, payload: { ...payload } }, key);
}

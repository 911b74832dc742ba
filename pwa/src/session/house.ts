/** The house's registers as the tablet last received them. */
import { signal } from "@preact/signals";
import { documents, onDocuments } from "../store/documents";
import type { Device, Handpiece, ListDocument, Person, Place, Preset, ProcedureKind, Verification } from "./types";

export interface House {
  place: Place | null;
  people: Person[];
  devices: Device[];
  handpieces: Handpiece[];
  kinds: ProcedureKind[];
  lists: ListDocument[];
  presets: Preset[];
  verifications: Verification[];
  records: Record<string, unknown>[];
}

export const house = signal<House>({
  place: null, people: [], devices: [], handpieces: [], kinds: [], lists: [], presets: [],
  verifications: [], records: [],
});

type Loose = Record<string, unknown>;

async function all(kind: string): Promise<Loose[]> {
  return (await documents(kind)) as Loose[];
}

/** Only documents in force: a withdrawn preset or a draft branch is not offered. */
function inForce(doc: Loose): boolean {
  const status = doc["status"];
  return doc["withdrawn"] == null && doc["in_force"] !== false
    && (status == null || status === "current" || status === "in force" || status === "active");
}

function toVerification(doc: Loose): Verification {
  const text = (key: string) => (typeof doc[key] === "string" ? (doc[key] as string) : "");
  return {
    verification_id: text("verification_id"),
    event_id: text("event_id") || null,
    device_id: text("device_id"),
    handpiece_id: text("handpiece_id"),
    mode: text("mode"),
    ratio: text("ratio"),
    ratio_uncertainty: text("ratio_uncertainty") || null,
    verdict: text("verdict"),
    verified_at: text("verified_at") || text("recorded_at") || text("occurred_at") || text("at"),
  };
}

/** Read the house's documents, and patients' records only while `mayShow` says somebody is signed in. */
export async function loadHouse(mayShow: () => boolean): Promise<void> {
  const [places, people, devices, handpieces, kinds, lists, presets, verifications, records] =
    await Promise.all([
      all("location"), all("person"), all("device"), all("handpiece"), all("procedure_kind"),
      all("list"), all("preset"), all("verification"), mayShow() ? all("record") : [],
    ]);
  const byName = (a: Loose, b: Loose) =>
    String(a["display_name"] ?? a["name"] ?? a["label"] ?? a["text"]).localeCompare(
      String(b["display_name"] ?? b["name"] ?? b["label"] ?? b["text"]));
  house.value = {
    place: (places[0] as unknown as Place | undefined) ?? null,
    people: people.filter(inForce).sort(byName) as unknown as Person[],
    devices: devices.filter(inForce).sort(byName) as unknown as Device[],
    handpieces: handpieces.filter(inForce).sort(byName) as unknown as Handpiece[],
    kinds: kinds.filter(inForce).sort(byName) as unknown as ProcedureKind[],
    lists: lists.filter(inForce) as unknown as ListDocument[],
    presets: presets.filter(inForce).sort(byName) as unknown as Preset[],
    verifications: verifications.map(toVerification),
    // Asked again, because the tablet may have been locked while this was read.
    records: mayShow() ? records : [],
  };
}

export function watchHouse(mayShow: () => boolean): void {
  onDocuments(() => { void loadHouse(mayShow); });
}

export const personName = (id: string | null | undefined): string | null =>
  house.value.people.find((p) => p.person_id === id)?.display_name ?? null;

/** The newest power check for this laser, this tip and this mode, whatever its verdict. */
export function latestCheck(device_id: string, handpiece_id: string, mode: string): Verification | null {
  return newest(house.value.verifications.filter(
    (v) => v.device_id === device_id && v.handpiece_id === handpiece_id && v.mode === mode));
}

/** The newest power check of each mode and tip of one laser. */
export function checksOf(device_id: string): Verification[] {
  const groups = new Map<string, Verification[]>();
  for (const v of house.value.verifications) {
    if (v.device_id !== device_id) continue;
    const key = `${v.mode}|${v.handpiece_id}`;
    groups.set(key, [...(groups.get(key) ?? []), v]);
  }
  return [...groups.values()].map((group) => newest(group)!);
}

function newest(list: Verification[]): Verification | null {
  return list.reduce<Verification | null>(
    (best, v) => (best && Date.parse(best.verified_at) >= Date.parse(v.verified_at) ? best : v), null);
}

/** A failed check never feeds the delivered dose. */
export const usable = (check: Verification | null): check is Verification =>
  check != null && (check.verdict === "ok" || check.verdict === "warn");

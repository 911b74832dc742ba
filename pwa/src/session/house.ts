/** The house's registers as the tablet last received them. */
import { computed, signal } from "@preact/signals";
import type { VerificationRecorded } from "../events/catalogue";
import { documents, onDocuments, recordPages, recordsNamed, type Changed } from "../store/documents";
import { deskRegister } from "../sync/desk";
import type { DeviceCheck } from "./device-checks";
import { equipment, type Equipment } from "./own-register";
import type { Made } from "./service-proofs";
import type { ServiceEntry } from "./service-state";
import type { Device, Handpiece, ListDocument, Person, Place, PresetDocument, ProcedureKind, Verification } from "./types";
import type { RoomDocument } from "./types_rooms";

export interface House {
  place: Place | null;
  people: Person[];
  /** Whose work here has ended; what they recorded still names them. */
  left: Person[];
  devices: Device[];
  handpieces: Handpiece[];
  kinds: ProcedureKind[];
  lists: ListDocument[];
  /** As the server last said, withdrawn ones and drafts too; `house_presets` adds what this tablet said since. */
  presetDocuments: PresetDocument[];
  verifications: Verification[];
  /** Checks by lists, as the server last said; `house_checks` adds what this tablet said since. */
  deviceChecks: DeviceCheck[];
  /** What was said of the lasers' service, as the server last said; `house_service` adds what this tablet said since. */
  deviceService: { device_id: string; entries: ServiceEntry[] }[];
  rooms: RoomDocument[];
  /** How many records have used each handpiece or tip, as the server counted them, and the last of them. */
  uses: Record<string, { uses: number; last_used_at: string | null }>;
  records: Record<string, unknown>[];
  /** The registers' documents by kind, retired ones too; `registers` adds what this tablet said since. */
  documents: Readonly<Record<string, readonly Record<string, unknown>[]>>;
}

const received = signal<House>({
  place: null, people: [], left: [], devices: [], handpieces: [], kinds: [], lists: [], presetDocuments: [], verifications: [], deviceChecks: [], deviceService: [], rooms: [], uses: {}, records: [], documents: {},
});

type Loose = Record<string, unknown>;

const loose = (list: readonly unknown[] | undefined): readonly Loose[] => (list ?? []) as readonly Loose[];
const own = (kind: Equipment, offered: () => readonly unknown[]) =>
  equipment(kind, () => loose(received.value.documents[kind]), () => loose(offered()));
const ownDevices = own("device", () => received.value.devices);
const ownHandpieces = own("handpiece", () => received.value.handpieces);

const withOwn = computed<House>(() => {
  const [devices, handpieces] = [ownDevices(), ownHandpieces()] as unknown as [Device[], Handpiece[]];
  const known = received.value;
  if (devices === known.devices && handpieces === known.handpieces) return known;
  return { ...known, devices: inOrder(devices), handpieces: inOrder(handpieces) };
});

/** The registers, with the lasers and tips that this tablet itself took in or retired: work does not wait for a network. */
export const house = {
  get value(): House { return withOwn.value; },
  set value(known: House) { received.value = known; },
};

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
    verified_by: text("verified_by") || null,
    said: doc as unknown as VerificationRecorded,
    made: doc as Made,
  };
}

const inOrder = <T>(list: readonly T[]): T[] => [...list].sort((a, b) => byName(a as Loose, b as Loose));

const byName = (a: Loose, b: Loose): number =>
  String(a["display_name"] ?? a["name"] ?? a["label"] ?? a["text"]).localeCompare(
    String(b["display_name"] ?? b["name"] ?? b["label"] ?? b["text"]));

/** Read the house's documents, and patients' records only while `mayShow` says somebody is signed in. */
export async function loadHouse(mayShow: () => boolean): Promise<void> {
  await Promise.all([loadRegisters(), mayShow() ? loadRecords(mayShow) : null]);
}

/** As they were read last, by kind: years of checks that did not change are not read again. */
const readLast = new Map<string, Loose[]>();
let reading: Promise<void> = Promise.resolve();

/** Read the registers, or the kinds of them that changed; in turn, or a slow reading would bring back what it began with. */
function loadRegisters(changed: ReadonlySet<string> | null = null): Promise<void> {
  const next = reading.then(() => readRegisters(async (kind) => {
    const known = readLast.get(kind);
    if (known && changed?.has(kind) === false) return known;
    const found = await all(kind);
    readLast.set(kind, found);
    return found;
  }));
  // What was not read may have changed: everything is asked for again.
  reading = next.catch(() => readLast.clear());
  return next;
}

/** What a practice keeps in registers beside lasers and handpieces. */
const THINGS = ["eyewear", "key", "meter", "inventory", "due_rule", "maintenance", "incident", "cleaning", "test_cut_reference", "test_cut"] as const;

/** Take the registers from wherever `read` finds the documents of one kind. */
async function readRegisters(read: (kind: string) => Promise<Loose[]>): Promise<void> {
  const [places, people, devices, handpieces, kinds, lists, presets, verifications, uses, rooms, deviceChecks, deviceService] =
    await Promise.all([
      read("location"), read("person"), read("device"), read("handpiece"), read("procedure_kind"),
      read("list"), read("preset"), read("verification"), read("handpiece_use"), read("room"), read("device_check"), read("device_service"),
    ]);
  const things = Object.fromEntries(await Promise.all(THINGS.map(async (kind) => [kind, await read(kind)] as const)));
  received.value = {
    place: (places[0] as unknown as Place | undefined) ?? null,
    people: people.filter(inForce).sort(byName) as unknown as Person[],
    left: people.filter((doc) => doc["status"] === "left").sort(byName) as unknown as Person[],
    devices: devices.filter(inForce).sort(byName) as unknown as Device[],
    handpieces: handpieces.filter(inForce).sort(byName) as unknown as Handpiece[],
    kinds: kinds.filter(inForce).sort(byName) as unknown as ProcedureKind[],
    lists: lists.filter(inForce) as unknown as ListDocument[],
    presetDocuments: presets as unknown as PresetDocument[],
    verifications: verifications.map(toVerification),
    deviceChecks: deviceChecks as unknown as DeviceCheck[],
    deviceService: deviceService as unknown as House["deviceService"],
    rooms: rooms as unknown as RoomDocument[],
    uses: Object.fromEntries(uses.map((doc) => [String(doc["handpiece_id"]),
      { uses: Number(doc["uses"]) || 0, last_used_at: (doc["last_used_at"] as string | null) ?? null }])),
    records: received.value.records,
    documents: { location: places, person: people, device: devices, handpiece: handpieces, ...things },
  };
}

/** At a desk, which keeps nothing: ask the server for the registers. */
export async function loadDeskRegisters(): Promise<void> {
  await readRegisters(async (kind) => (await deskRegister(kind)) as Loose[]);
}

/** Records that changed while all of them were being read. */
let meanwhile: Set<string> | null = null;

async function loadRecords(mayShow: () => boolean): Promise<void> {
  const found: Loose[] = [];
  const late = new Set<string>();
  meanwhile = late;
  for await (const some of recordPages()) {
    // Asked again, because the tablet may have been locked while this was read.
    if (!mayShow()) return;
    found.push(...(some as Loose[]));
    await breath();
  }
  if (meanwhile === late) meanwhile = null;
  if (mayShow()) received.value = { ...received.value, records: found };
  await takeRecords(late, mayShow);
}

/** Put the records named in place of those of the same id. */
async function takeRecords(ids: ReadonlySet<string>, mayShow: () => boolean): Promise<void> {
  if (ids.size === 0 || !mayShow()) return;
  for (const id of ids) meanwhile?.add(id);
  const records = (await recordsNamed([...ids])) as Loose[];
  if (!mayShow()) return;
  const others = received.value.records.filter((doc) => !ids.has(doc["record_id"] as string));
  received.value = { ...received.value, records: [...others, ...records] };
}

/** Let whatever a finger asks for be done before going on, and wait no longer than this [ms] for a quiet moment. */
const QUIET_WITHIN_MS = 250;
export const breath = (): Promise<void> => new Promise((resolve) => {
  const idle = globalThis.requestIdleCallback ?? ((work: () => void) => setTimeout(work, 0));
  idle(() => resolve(), { timeout: QUIET_WITHIN_MS });
});

/** What a page brought: thousands of records that did not change are not read again. */
async function takeChanged(changed: Changed, mayShow: () => boolean): Promise<void> {
  await takeRecords(new Set(changed.filter((one) => one.kind === "record").map((one) => one.doc_id)), mayShow);
  const kinds = new Set(changed.map(({ kind }) => kind).filter((kind) => kind !== "record"));
  if (kinds.size > 0) await loadRegisters(kinds);
}

export function watchHouse(mayShow: () => boolean): void {
  onDocuments((changed) => { void takeChanged(changed, mayShow); });
}

export const personName = (id: string | null | undefined): string | null =>
  [...house.value.people, ...house.value.left].find((p) => p.person_id === id)?.display_name ?? null;

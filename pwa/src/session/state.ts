/** What the screens stand on: who is here, what this tablet has written, and how sending goes. */
import { batch, computed, signal } from "@preact/signals";
import { claimWriter } from "../outbox/writer";
import { readEvents, type StoredEvent } from "../outbox/read";
import { onStatus, startSync, syncNow, type SyncStatus } from "../sync/service";
import { deskSession } from "../sync/desk";
import { signOutPerson } from "../sync/people";
import { identity } from "../store/identity";
import { forgetDrafts } from "./draft";
import { fold, type RecordDocument } from "./fold";
import { house, loadHouse, watchHouse } from "./house";
import { standsFor, withPending } from "./pending";
import type { Person } from "./types";

export type Seat = "starting" | "broken" | "door" | "tablet" | "desk";
export interface Who { person_id: string; display_name: string; initials: string; roles: string[] }

export const seat = signal<Seat>("starting");
export const person = signal<Who | null>(null);
/** Too long without the server: what happens is recorded, earlier patients are not shown. */
export const captureOnly = signal(false);
export const writing = signal(true);
export const events = signal<StoredEvent[]>([]);
export const status = signal<SyncStatus>({ online: false, waiting: 0, last_contact: null, attention: null, syncing: false });
/** The location's zone, by which times are shown. */
export const zone = signal<string | null>(null);
export const enrolled = signal<{ tablet_id: string; location_id: string; location_name: string; practice_name: string } | null>(null);

const PROCEDURE = /^(procedure|timeout|pass|laser|entry|record)\./;
const folded = new Map<string, { key: string; doc: RecordDocument }>();

/** Every record this tablet has written to, as the fold of its events, newest first. */
export const ownRecords = computed<RecordDocument[]>(() => {
  const groups = new Map<string, StoredEvent[]>();
  for (const event of events.value) {
    if (!PROCEDURE.test(event.body.type)) continue;
    const group = groups.get(event.body.entity_id);
    if (group) group.push(event);
    else groups.set(event.body.entity_id, [event]);
  }
  const list: RecordDocument[] = [];
  for (const [record_id, group] of groups) {
    // Only records opened here can be folded from this tablet's events alone.
    if (!group.some((e) => e.body.type === "procedure.opened")) continue;
    const key = `${group.length}:${group[group.length - 1]!.event_id}`;
    const known = folded.get(record_id);
    const doc = known?.key === key ? known.doc : fold(group);
    folded.set(record_id, { key, doc });
    list.push(doc);
  }
  return list.sort(newestFirst);
});

/** Own records and those the server sent; of two of one record, the server's once it holds all of ours. */
export const allRecords = computed<RecordDocument[]>(() => {
  const byId = new Map(ownRecords.value.map((doc) => [doc.record_id, doc]));
  for (const loose of house.value.records) {
    const doc = loose as unknown as RecordDocument;
    const own = byId.get(doc.record_id);
    if (own && !standsFor(doc, own)) continue;
    byId.set(doc.record_id, withPending(doc, events.value.filter((e) => e.body.entity_id === doc.record_id)));
  }
  return [...byId.values()].sort(newestFirst);
});

export const openRecords = computed(() => ownRecords.value.filter((r) => r.status === "draft"));
/** How many cases are open on this tablet; known while it is locked, too. */
export const openCount = signal(0);
export const unsigned = computed(() => allRecords.value.filter((r) => r.status === "ended"));

function newestFirst(a: RecordDocument, b: RecordDocument): number {
  return Date.parse(b.started_at ?? "") - Date.parse(a.started_at ?? "");
}

export type Saved = { state: "nothing" | "tablet" | "server" | "attention"; at: string | null; text: string | null };

/** Where the events of one record are: never more than is true. */
export function savedState(record_id: string): Saved {
  const own = events.value.filter((e) => e.body.entity_id === record_id);
  const last = own[own.length - 1];
  if (!last) {
    const there = house.value.records.some((r) => r["record_id"] === record_id);
    return { state: there ? "server" : "nothing", at: null, text: null };
  }
  const refused = own.find((e) => {
    const outcome = (e.result as { outcome?: string } | null)?.outcome;
    return outcome != null && outcome !== "applied" && outcome !== "duplicate";
  });
  if (refused) {
    const result = refused.result as { outcome: string; reason?: string };
    return { state: "attention", at: last.saved_at, text: result.reason ?? result.outcome };
  }
  const waiting = own.some((e) => e.state === "waiting");
  return { state: waiting ? "tablet" : "server", at: last.saved_at, text: null };
}

/**
 * Read what this tablet has written. While nobody is signed in, only how many cases are open is
 * kept: what was decrypted to count them is dropped again.
 */
export async function refreshEvents(): Promise<void> {
  events.value = await readEvents();
  openCount.value = openRecords.value.length;
  if (!person.value) forgetEvents();
}

const somebody = (): boolean => person.value !== null;

function forgetEvents(): void {
  events.value = [];
  folded.clear();
}

/** Take the seat this browser has: an enrolled tablet, a desk with a session, or the door. */
export async function start(): Promise<void> {
  const who = await identity();
  if (who) return startTablet();
  const desk = await deskSession().catch(() => null);
  if (desk) {
    takeDesk(desk as never);
    return;
  }
  seat.value = "door";
}

export async function startTablet(): Promise<void> {
  const who = await identity();
  if (!who) return;
  enrolled.value = who;
  zone.value = who.zone;
  writing.value = (await claimWriter()) === "writer";
  await Promise.all([refreshEvents(), loadHouse(somebody)]);
  watchHouse(somebody);
  onStatus((next) => {
    const settled = next.waiting !== status.value.waiting || next.syncing !== status.value.syncing;
    status.value = next;
    if (settled) void refreshEvents();
  });
  seat.value = "tablet";
  startSync();
}

export function takeDesk(
  answer: { person: Partial<Person> & { person_id: string; display_name: string }; roles?: string[]; location?: { zone?: string } | null },
): void {
  zone.value = answer.location?.zone ?? null;
  const { person: who } = answer;
  person.value = {
    person_id: who.person_id, display_name: who.display_name, initials: who.initials ?? "",
    roles: answer.roles ?? who.roles ?? [],
  };
  seat.value = "desk";
}

export async function signIn(who: Who, capture_only: boolean): Promise<void> {
  // Before the screens open, so that an open case is never shown as missing.
  const written = await readEvents();
  batch(() => {
    events.value = written;
    person.value = who;
    captureOnly.value = capture_only;
  });
  void syncNow();
  void loadHouse(somebody);
}

/** Hide the screen and drop what is decrypted; the outbox and a running case are not touched. */
export function lock(): void {
  person.value = null;
  captureOnly.value = false;
  signOutPerson();
  forgetDrafts();
  openCount.value = openRecords.value.length;
  forgetEvents();
  house.value = { ...house.value, records: [] };
}

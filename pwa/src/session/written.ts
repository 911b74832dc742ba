/** What this tablet has written, by record: one more entry costs one more fold, not all of them again. */
import { computed, signal } from "@preact/signals";
import type { StoredEvent } from "../outbox/read";
import type { RecordDocument } from "./fold";

interface Group {
  /** In the order in which they were made. */
  events: StoredEvent[];
  /** Null: to be folded again, or not opened here. */
  doc: RecordDocument | null;
  folded: boolean;
}

let fold: (typeof import("./fold"))["fold"] | null = null;

/**
 * Fetch what turns entries into records, and the dose engine with it: the lock screen opens without
 * them. To be awaited before any entry is taken.
 */
export async function readyToFold(): Promise<void> {
  if (fold) return;
  ({ fold } = await import("./fold").catch((cause: unknown) => {
    throw Object.assign(new Error("A part of the app cannot be loaded."), { code: "part_missing", cause });
  }));
}

const groups = new Map<string, Group>();
/** The same, as they were shown last: of thousands hardly one moves, and what is in order is soon sorted. */
let ordered: Group[] = [];
/** Entries that the server has not answered yet, by their sequence on this tablet. */
const waiting = new Map<number, string>();
const held = { count: 0, first: Infinity, last: 0 };
const revision = signal(0);

/** Put entries in, new ones or known ones whose answer has come, and work out anew what depends on them. */
export function take(stored: readonly StoredEvent[]): void {
  if (stored.length === 0) return;
  takeQuietly(stored);
  announce();
}

/** The same, a page at a time, before `announce`. */
export function takeQuietly(stored: readonly StoredEvent[]): void {
  for (const group of new Set(stored.map(put))) foldGroup(group);
}

export function announce(): void {
  revision.value += 1;
}

function put(event: StoredEvent): Group {
  const record_id = event.body.entity_id;
  if (event.state === "waiting") waiting.set(event.tablet_seq, record_id);
  else waiting.delete(event.tablet_seq);
  let group = groups.get(record_id);
  if (!group) {
    group = { events: [], doc: null, folded: false };
    groups.set(record_id, group);
    ordered.push(group);
  }
  const { events } = group;
  // Nearly always the newest; else one whose answer came, or an older one read later.
  let at = events.length;
  while (at > 0 && events[at - 1]!.tablet_seq > event.tablet_seq) at -= 1;
  if (events[at - 1]?.tablet_seq === event.tablet_seq) {
    // The same texts with an answer: the record they come to is the same.
    events[at - 1] = event;
    return group;
  }
  held.count += 1;
  held.first = Math.min(held.first, event.tablet_seq);
  held.last = Math.max(held.last, event.tablet_seq);
  events.splice(at, 0, event);
  group.folded = false;
  return group;
}

function foldGroup(group: Group): void {
  if (group.folded) return;
  if (!fold) throw new Error("readyToFold comes first");
  // Only records opened here can be folded from this tablet's entries alone.
  group.doc = group.events.some((e) => e.body.type === "procedure.opened") ? fold(group.events) : null;
  group.folded = true;
}

/** Drop all that was decrypted. */
export function forgetWritten(): void {
  groups.clear();
  ordered = [];
  waiting.clear();
  Object.assign(held, { count: 0, first: Infinity, last: 0 });
  announce();
}

/** Drop what the outbox no longer keeps: the oldest entries, below a sequence. */
export function forgetBelow(first_seq: number): void {
  if (held.count === 0 || held.first >= first_seq) return;
  const kept = [...groups.values()].flatMap((group) => group.events.filter((event) => event.tablet_seq >= first_seq));
  forgetWritten();
  take(kept);
}

/** Drop entries of which the content was erased; what is left of them is read again. */
export function forgetEntries(seqs: readonly number[]): void {
  const gone = new Set(seqs);
  const kept = [...groups.values()].flatMap((group) => group.events.filter((event) => !gone.has(event.tablet_seq)));
  if (kept.length === held.count) return;
  forgetWritten();
  take(kept);
}

/** This tablet's own entries about one record, in the order in which they were made. */
export function eventsOf(record_id: string): readonly StoredEvent[] {
  void revision.value;
  return groups.get(record_id)?.events ?? NOTHING;
}
const NOTHING: readonly StoredEvent[] = [];

/** Ids of what this tablet has written about with entries of these types; all of one thing are of one subject. */
export function writtenAbout(types: readonly string[]): string[] {
  void revision.value;
  return [...groups].filter(([, { events }]) => types.includes(events[0]!.body.type)).map(([entity_id]) => entity_id);
}

/** How many entries are in memory, how many of them wait, the lowest that does, and the newest of all. */
export function counted(): { held: number; last: number; waiting: number; waiting_from: number | null } {
  const from = Math.min(...waiting.keys());
  return { held: held.count, last: held.last, waiting: waiting.size, waiting_from: Number.isFinite(from) ? from : null };
}

/** Records with an entry that waits to be sent. */
export function waitingRecords(): string[] {
  void revision.value;
  return [...new Set(waiting.values())];
}

/** Every record opened on this tablet, as the fold of its entries, newest first. */
export const ownRecords = computed<RecordDocument[]>(() => {
  void revision.value;
  ordered.sort((a, b) => groupMs(b) - groupMs(a));
  return ordered.flatMap(({ doc }) => doc ?? []);
});

const groupMs = ({ doc }: Group): number => (doc ? startedMs(doc) : Infinity);

const begun = new WeakMap<RecordDocument, number>();

/** When a record began [ms]; reading a time thousands of times at each tap would be felt. */
export function startedMs(doc: RecordDocument): number {
  let at = begun.get(doc);
  if (at === undefined) {
    // Of an erased record nobody can say: it comes last.
    at = Date.parse(doc.started_at ?? "") || 0;
    begun.set(doc, at);
  }
  return at;
}

export function newestFirst(list: RecordDocument[]): RecordDocument[] {
  return list.sort((a, b) => startedMs(b) - startedMs(a));
}

export type Saved = { state: "nothing" | "tablet" | "server" | "backup" | "attention" | "rejected"; at: string | null; text: string | null };

/**
 * Where this tablet's entries about a record are: never more than is true. `there`: the server sent a
 * copy; `durable_position`: up to where the log is inside a verified backup.
 */
export function savedOf(record_id: string, there: boolean, durable_position: number | null = null): Saved {
  const own = eventsOf(record_id);
  const last = own[own.length - 1];
  if (!last) return { state: there ? "server" : "nothing", at: null, text: null };
  const refused = own.find((e) => {
    const outcome = (e.result as { outcome?: string } | null)?.outcome;
    return outcome != null && !SETTLED.has(outcome);
  });
  if (refused) {
    const result = refused.result as { outcome: string; reason?: string };
    return { state: "attention", at: last.saved_at, text: result.reason ?? result.outcome };
  }
  if (own.some((e) => e.state === "waiting")) return { state: "tablet", at: last.saved_at, text: null };
  const rejected = own.some((e) => (e.result as { outcome?: string } | null)?.outcome === "rejected");
  return { state: rejected ? "rejected" : isInside(own, durable_position) ? "backup" : "server", at: last.saved_at, text: null };
}

function isInside(own: readonly StoredEvent[], durable_position: number | null): boolean {
  return durable_position !== null
    && own.every((e) => ((e.result as { position?: number } | null)?.position ?? Infinity) <= durable_position);
}

/** Nobody need look at these any more: taken, or put aside and decided about. */
const SETTLED: ReadonlySet<string> = new Set(["applied", "duplicate", "rejected"]);

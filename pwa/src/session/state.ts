/** What the screens stand on: who is here, what this tablet has written, and how sending goes. */
import { batch, computed, effect, signal } from "@preact/signals";
import { claimWriter, takeOver } from "../outbox/writer";
import { heldRange, readEvents } from "../outbox/read";
import { bringBackHouse, waitsForPin } from "../outbox/restore";
import { openSecond } from "../outbox/second";
import { onDecided, onErased } from "../outbox/settle";
import { onStatus, startSync, syncNow, type SyncStatus } from "../sync/service";
import { askFor } from "../sync/client";
import { deskSession } from "../sync/desk";
import { onEpoch } from "../sync/epoch";
import { onSessionEnded, signOutPerson } from "../sync/people";
import { onRevoked } from "../sync/revoked";
import { identity } from "../store/identity";
import { deskSeen, noteDesk } from "../store/seat";
import { sameRoles } from "../store/people";
import { closeView } from "../store/view";
import { atWork, loadAtWork, noteOpen } from "./atwork";
import { forgetDrafts, takeUpDrafts } from "./draft";
import type { RecordDocument } from "./fold";
import { breath, house, loadHouse, watchHouse } from "./house";
import { standsFor, withPending } from "./pending";
import { loadTimer } from "./timer";
import type { Person } from "./types";
import {
  announce, counted, eventsOf, forgetBelow, forgetEntries, forgetWritten, newestFirst, ownRecords, readyToFold, savedOf, take, takeQuietly, type Saved,
} from "./written";

export { openCount } from "./atwork";
export { ownRecords, type Saved } from "./written";

export type Seat = "starting" | "broken" | "door" | "tablet" | "desk";
export interface WorkPlace { location_id: string; name: string; roles: string[] }
export interface Who { person_id: string; display_name: string; initials: string; roles: string[]; emergency?: { rights: string[]; until: string } | null }

export const seat = signal<Seat>("starting");
export const person = signal<Who | null>(null);
/** Too long without the server: what happens is recorded, earlier patients are not shown. */
export const captureOnly = signal(false);
export const writing = signal(true);
/** Why the screen was locked by what was done elsewhere; null once somebody has signed in again. */
export const shutBecause = signal<"session" | "roles" | null>(null);
/** The browser lost this tablet's storage; the next PIN opens its second copy. */
export const lostStorage = signal(false);
export const status = signal<SyncStatus>({ online: false, waiting: 0, last_contact: null, attention: null, syncing: false, durable_position: null, restored: null });
/** The location's zone, by which times are shown. */
export const zone = signal<string | null>(null);
/** At a desk: the location that is shown, those where the person works, and whether there are others. */
export const place = signal<{ location_id: string; name: string } | null>(null);
export const places = signal<WorkPlace[]>([]);
export const otherPlaces = signal(false);
export const enrolled = signal<{ tablet_id: string; location_id: string; location_name: string; practice_name: string; label: string } | null>(null);

/** The server's copy of each record with what we wrote since; a copy of the same two texts is the same. */
const merged = new WeakMap<object, { own: RecordDocument | undefined; entries: number; shown: RecordDocument | null }>();

/** What the server sent, put in order once and not at every entry. */
const received = computed(() => house.value.records);
const sent = computed(() => newestFirst([...(received.value as unknown as RecordDocument[])]));

/** Own records and those the server sent; of two of one record, the server's once it holds all of ours. */
export const allRecords = computed<RecordDocument[]>(() => {
  const own = ownRecords.value;
  // What is still to be finished here, and no earlier patient.
  if (captureOnly.value) return own.filter((r) => r.status === "draft" || r.status === "ended");
  if (sent.value.length === 0) return own;
  const byId = new Map(own.map((doc) => [doc.record_id, doc]));
  for (const doc of sent.value) {
    const mine = byId.get(doc.record_id);
    const written = eventsOf(doc.record_id);
    let known = merged.get(doc);
    if (!known || known.own !== mine || known.entries !== written.length) {
      known = { own: mine, entries: written.length, shown: mine && !standsFor(doc, mine) ? null : withPending(doc, written) };
      merged.set(doc, known);
    }
    if (known.shown) byId.set(doc.record_id, known.shown);
  }
  return newestFirst([...byId.values()]);
});

export const openRecords = computed(() => ownRecords.value.filter((r) => r.status === "draft"));
export const unsigned = computed(() => allRecords.value.filter((r) => r.status === "ended"));
const serverHas = computed(() => new Set(received.value.map((r) => r["record_id"] as string)));

/** Where the entries of one record are: never more than is true. */
export function savedState(record_id: string): Saved {
  return savedOf(record_id, serverHas.value.has(record_id), status.value.durable_position);
}

const somebody = (): boolean => person.value !== null;
/** True while older entries are still being read after signing in. */
export const readingOlder = signal(false);
/** Counts sign-ins and locks, so that what was begun for one person never shows for another. */
let sitting = 0;

effect(() => {
  if (person.value && seat.value === "tablet" && !readingOlder.value) noteOpen(openRecords.value.map((r) => r.record_id));
});

effect(() => {
  // Whoever no longer works here, as the server has just said, is not left at the open screens.
  const { people } = house.value;
  const who = person.peek();
  if (seat.peek() === "tablet" && who && people.length > 0 && !people.some((one) => one.person_id === who.person_id)) lock();
});

/** The roles of whoever is signed in, as the server said them last. */
let rolesHere: { person_id: string; roles: string[]; auditor_until?: string | null } | null = null;

effect(() => {
  // In other roles they see other things: what is open was opened for what they were.
  const one = house.value.people.find(({ person_id }) => person_id === person.peek()?.person_id);
  if (seat.peek() !== "tablet" || !one) return;
  const before = rolesHere;
  rolesHere = one;
  if (before?.person_id === one.person_id && !sameRoles(before, one)) shut("roles");
});

/** Take up what changed in the outbox: new entries, and answers to those that waited. */
export async function refreshEvents(): Promise<void> {
  // While nobody is signed in, nothing is decrypted.
  if (!somebody() || readingOlder.value) return;
  const mine = sitting;
  let now = await heldRange();
  for (;;) {
    if (mine !== sitting) return;
    await takeAnswers(now, mine);
    if (mine !== sitting) return;
    forgetBelow(now.first);
    if (sameAs(now)) return;
    const then = now;
    now = await heldRange();
    if (now.waiting === then.waiting && now.last === then.last && !sameAs(now)) break;
  }
  // Put back to be sent again, which hardly ever happens: all of them are looked at.
  const all = await readEvents();
  if (mine === sitting) take(all);
}

const sameAs = (there: { last: number; waiting: number }): boolean => {
  const here = counted();
  return here.waiting === there.waiting && here.last === there.last;
};

/** What was sent was sent in order, so it is read on from the lowest that waited as far as answers came. */
async function takeAnswers(now: { last: number; waiting: number }, mine: number): Promise<void> {
  const page = async (from: number, to: number) => {
    const some = await readEvents(from, to);
    if (mine === sitting) take(some);
  };
  if (now.last > counted().last) await page(counted().last + 1, now.last);
  for (;;) {
    const { waiting, waiting_from } = counted();
    if (mine !== sitting || waiting <= now.waiting || waiting_from === null) return;
    await page(waiting_from, waiting_from + AT_ONCE - 1);
    if (counted().waiting_from === waiting_from) return;
  }
}

/** So few that a finger need not wait for the rest of them on a slow tablet. */
const AT_ONCE = 100;

/**
 * Read what was written, the newest first, so that an open case is there before last year's are.
 * Resolves once all cases known to be open are there; the others follow while the screens are in use.
 */
async function readWritten(): Promise<void> {
  const mine = sitting;
  readingOlder.value = true;
  const { first, last } = await heldRange();
  const pages = async (from: number, enough: () => boolean, between: () => Promise<void>): Promise<number> => {
    let to = from;
    while (to >= first && to > 0 && !enough()) {
      const some = await readEvents(Math.max(first, to - AT_ONCE + 1), to);
      if (mine !== sitting) return 0;
      takeQuietly(some);
      to -= AT_ONCE;
      await between();
    }
    return to;
  };
  const found = () => counted().held > 0 && atWork.value.open.every((record_id) => eventsOf(record_id).some((e) => e.body.type === "procedure.opened"));
  const left = await pages(last, found, async () => undefined);
  announce();
  void pages(left, () => false, breath).catch(() => undefined).finally(() => {
    if (mine !== sitting) return;
    announce();
    readingOlder.value = false;
    void refreshEvents();
  });
}

/** Take the seat this browser has: an enrolled tablet, a desk with a session, or the door. */
export async function start(): Promise<void> {
  // A tablet whose storage was lost is brought back from its second copy, and only asks for a PIN.
  const who = (await identity()) ?? (await bringBackHouse());
  if (who) return startTablet();
  const desk = deskSeen() ? await askedDesk() : null;
  if (desk) {
    takeDesk(desk as never);
    return;
  }
  seat.value = "door";
}

async function askedDesk(): Promise<Awaited<ReturnType<typeof deskSession>>> {
  try {
    const session = await deskSession();
    if (session === null) noteDesk(false);
    return session;
  } catch {
    return null;
  }
}

export async function startTablet(): Promise<void> {
  const who = await identity();
  if (!who) return;
  enrolled.value = who;
  zone.value = who.zone;
  writing.value = (await claimWriter()) === "writer";
  if (writing.value) await openSecond();
  else void takeOver(openSecond).then(goOnWriting);
  lostStorage.value = await waitsForPin();
  await Promise.all([loadAtWork(), loadHouse(somebody)]);
  watchHouse(somebody);
  onStatus((next) => {
    const settled = next.waiting !== status.value.waiting || next.syncing !== status.value.syncing;
    status.value = next;
    if (settled) void refreshEvents();
  });
  onRevoked(lock);
  // What is in memory says where each entry stood in the log that was cut away.
  onEpoch(() => { if (somebody()) void readEvents().then((all) => { if (somebody()) take(all); }, () => undefined); });
  onSessionEnded(() => shut("session"));
  onErased((seqs) => {
    forgetEntries(seqs);
    if (somebody()) for (const seq of seqs) void readEvents(seq, seq).then((some) => { if (somebody()) take(some); });
  });
  onDecided((seqs) => {
    if (somebody()) for (const seq of seqs) void readEvents(seq, seq).then((some) => { if (somebody()) take(some); });
  });
  seat.value = "tablet";
  startSync();
  // Cut off by a kill, it is gone on with before anybody looks.
  import("../sync/erase").then(({ heedErasures }) => heedErasures()).catch(() => undefined);
  // While the PIN is typed; signing in waits for it, and says so if it cannot be had.
  readyToFold().catch(() => undefined);
}

/** The tab that wrote is gone: take up all that it left, and only then let anything be pressed here. */
async function goOnWriting(): Promise<void> {
  try {
    enrolled.value = (await identity()) ?? enrolled.value;
    await Promise.all([loadAtWork(), loadTimer(), takeUpDrafts()]);
    await Promise.all([loadHouse(somebody), refreshEvents()]);
  } finally {
    writing.value = true;
  }
}

export function takeDesk(
  answer: {
    person: Partial<Person> & { person_id: string; display_name: string }; roles?: string[]; emergency?: { rights: string[]; until: string } | null;
    location?: { location_id?: string; name?: string; zone?: string } | null; locations?: WorkPlace[]; others?: boolean;
  },
): void {
  noteDesk(true);
  const { location_id = "", name = "" } = answer.location ?? {};
  if (place.value !== null && place.value.location_id !== location_id) {
    // Begun anew as a whole, so that nothing of the other location stays, and nothing under way comes in late.
    history.replaceState(null, "", "#/");
    location.reload();
    return;
  }
  askFor(location_id || null, answer.person.person_id);
  place.value = { location_id, name };
  places.value = answer.locations ?? [];
  otherPlaces.value = answer.others ?? false;
  zone.value = answer.location?.zone ?? null;
  const { person: who } = answer;
  person.value = {
    person_id: who.person_id, display_name: who.display_name, initials: who.initials ?? "",
    roles: answer.roles ?? who.roles ?? [], emergency: answer.emergency ?? null,
  };
  seat.value = "desk";
}

/** Open the screens to a person. */
export async function signIn(who: Who, capture_only: boolean): Promise<void> {
  // Its keys came back only now, and with them what was sealed.
  if (lostStorage.value) await Promise.all([loadTimer(), loadAtWork()]);
  lostStorage.value = false;
  await readyToFold();
  sitting += 1;
  // Before the screens open, so that an open case is never shown as missing.
  await readWritten();
  rolesHere = house.value.people.find(({ person_id }) => person_id === who.person_id) ?? null;
  shutBecause.value = null;
  batch(() => {
    person.value = who;
    captureOnly.value = capture_only;
  });
  void syncNow();
  void loadHouse(somebody);
}

/** Lock because of what was done elsewhere, and let the lock screen say so. */
function shut(why: "session" | "roles"): void {
  if (person.peek() === null) return;
  lock();
  shutBecause.value = why;
}

/** Hide the screen and drop what is decrypted; the outbox and a running case are not touched. */
export function lock(): void {
  sitting += 1;
  person.value = null;
  captureOnly.value = false;
  closeView();
  signOutPerson();
  forgetDrafts();
  forgetWritten();
  house.value = { ...house.value, records: [] };
}

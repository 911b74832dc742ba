/**
 * In which order the events of one record count, and which of them hold. Pure; mirror of
 * `api/records/order.py`. Nothing here looks at the order in which events arrive.
 */

import { fromHex, hex, sha256, utf8, concat } from "../events/bytes";
import type { EventBody, EventPayload } from "../events/build";
import { byText } from "./by_text";

export interface FoldEvent {
  body: EventBody;
  /** null: the content was erased. */
  payload: EventPayload | null;
  body_hash: string;
}

export interface Flag { code: string; text: string; event_id: string }

/** One place in the record: `first` took it, `event` holds it after all corrections. */
export interface Entry { first: FoldEvent; event: FoldEvent }

export interface Resolved { entries: Entry[]; effective: Set<string>; flags: Flag[] }

type Known = ReadonlyMap<string, FoldEvent>;

const OPENED = "procedure.opened";
const SIGNED = "record.signed";
const ADDENDED = "record.addended";
const PLACED = "record.placed_in_chart";
const REMOVED = "record.removed_from_chart";
const REATTRIBUTED = "record.reattributed";
const VOIDED = "record.voided";
const WITHDRAWN = "entry.withdrawn";
const ABOUT_THE_SIGNED_RECORD: readonly string[] = [ADDENDED, PLACED, REMOVED, REATTRIBUTED, VOIDED];
/** What stands for good, with the flag raised by an attempt to take it back. */
const STANDING: Readonly<Record<string, readonly [string, string]>> = {
  [ADDENDED]: ["addendum_kept", "An addendum cannot be taken back."],
  [REATTRIBUTED]: ["reattribution_kept", "A move to another chart cannot be taken back."],
  [VOIDED]: ["void_kept", "That a record is void cannot be taken back."],
};
const HASH_LABEL = "dosebook-record-1";

const idOf = (event: FoldEvent): string => event.body.event_id;

/** The distinct events in the order in which they count: the opening writer's first, then others. */
export function inOrder(events: Iterable<FoldEvent>): FoldEvent[] {
  const distinct = new Map<string, FoldEvent>();
  for (const event of events) {
    const known = distinct.get(idOf(event));
    if (!known || event.body_hash < known.body_hash) distinct.set(idOf(event), event);
  }
  const all = [...distinct.values()];
  const home = opener(all)?.body.tablet_id ?? null;
  const keyed = all.map((event) => {
    const away = event.body.tablet_id !== home;
    return {
      event,
      late: Number(aboutTheSignedRecord(event, distinct)),
      away: Number(away),
      seq: away ? 0 : event.body.tablet_seq,
    };
  });
  keyed.sort((a, b) => a.late - b.late || a.away - b.away || a.seq - b.seq
    || byText(idOf(a.event), idOf(b.event)));
  return keyed.map((one) => one.event);
}

/** The event that opened the record; where none has arrived, the one of lowest id. */
export function opener(events: readonly FoldEvent[]): FoldEvent | null {
  const openings = events.filter((e) => e.body.type === OPENED && e.body.corrects === null);
  const found = openings.length > 0 ? openings : events;
  return found.reduce<FoldEvent | null>(
    (lowest, event) => (lowest === null || idOf(event) < idOf(lowest) ? event : lowest), null);
}

/**
 * The hash a signature covers, in hex: of the events before the one named, or, without a name, of
 * all that a signature made now would cover (what speaks about the record as a whole never is).
 */
export async function contentHash(events: Iterable<FoldEvent>, before: string | null = null): Promise<string> {
  const ordered = inOrder(events);
  const known = byId(ordered);
  const covered: string[] = [];
  for (const event of ordered) {
    if (idOf(event) === before || aboutTheSignedRecord(event, known)) break;
    covered.push(event.body_hash);
  }
  return contentHashOf(covered);
}

/** The same hash from the body hashes alone, as an unsigned record's history lists them in order. */
export async function contentHashOf(body_hashes: readonly string[]): Promise<string> {
  return hex(await sha256(concat(utf8(HASH_LABEL), ...body_hashes.map(fromHex))));
}

/** The event whose withdrawal empties the place that `event_id` holds: the first of its chain. */
export function firstOf(history: readonly { event_id: string; corrects: string | null }[], event_id: string): string {
  const corrects = new Map(history.map((line) => [line.event_id, line.corrects]));
  const seen = new Set<string>();
  let step = event_id;
  for (;;) {
    const next = corrects.get(step);
    if (next == null || !corrects.has(next) || seen.has(next)) return step;
    seen.add(step);
    step = next;
  }
}

/** Apply withdrawals and corrections to events given in order. */
export function resolve(ordered: readonly FoldEvent[]): Resolved {
  const flags: Flag[] = [];
  const counted = beforeSignature(ordered, flags);
  const { parents, ignored } = parentsOf(counted, flags);
  const children = new Map<string, FoldEvent[]>();
  for (const event of counted) {
    const parent = parents.get(idOf(event));
    if (parent !== undefined) children.set(parent, [...(children.get(parent) ?? []), event]);
  }
  const roots = counted.filter((event) => !parents.has(idOf(event)) && !ignored.has(idOf(event)));
  const { holder, effective } = holders(roots, children, flags);
  const entries: Entry[] = [];
  for (const first of roots) {
    const event = holder.get(idOf(first)) ?? null;
    if (event === null) continue;
    if (event.payload === null) {
      flags.push(flag("erased", "The content of an entry was erased.", event));
      continue;
    }
    entries.push({ first, event });
    effective.add(idOf(event));
  }
  return { entries, effective, flags };
}

export function flag(code: string, text: string, event: FoldEvent): Flag {
  return { code, text, event_id: idOf(event) };
}

const byId = (events: readonly FoldEvent[]): Map<string, FoldEvent> =>
  new Map(events.map((event) => [idOf(event), event]));

function aboutTheSignedRecord(event: FoldEvent, known: Known): boolean {
  const { type, corrects } = event.body;
  if (type === WITHDRAWN) {
    const taken = corrects === null ? undefined : known.get(corrects)?.body.type;
    return taken === PLACED || taken === REMOVED;
  }
  return ABOUT_THE_SIGNED_RECORD.includes(type);
}

function beforeSignature(ordered: readonly FoldEvent[], flags: Flag[]): FoldEvent[] {
  const known = byId(ordered);
  const counted: FoldEvent[] = [];
  let signed = false;
  for (const event of ordered) {
    if (signed && !aboutTheSignedRecord(event, known)) {
      flags.push(flag("entry_after_signature", "An entry was made after the signature.", event));
      continue;
    }
    counted.push(event);
    signed ||= event.body.type === SIGNED;
  }
  return counted;
}

/** Each event that acts on another with that other, and those that act on nothing. */
function parentsOf(counted: readonly FoldEvent[], flags: Flag[]): { parents: Map<string, string>; ignored: Set<string> } {
  const known = byId(counted);
  const parents = new Map<string, string>();
  const ignored = new Set<string>();
  for (const event of counted) {
    const { type, corrects } = event.body;
    const withdrawal = type === WITHDRAWN;
    if (corrects === null && !withdrawal) continue;
    const target = corrects === null ? undefined : known.get(corrects);
    if (target === undefined || corrects === null) {
      flags.push(flag("corrected_entry_missing", "The entry that this one names is missing.", event));
      if (withdrawal) ignored.add(idOf(event));
    } else if (STANDING[target.body.type] !== undefined) {
      // What stands for good is not replaced; one that names another is simply a further one.
      if (type !== target.body.type) {
        flags.push(flag(...STANDING[target.body.type]!, event));
        ignored.add(idOf(event));
      }
    } else if (!withdrawal && target.body.type !== type) {
      flags.push(flag("correction_of_another_type", "A correction names another kind.", event));
      ignored.add(idOf(event));
    } else {
      parents.set(idOf(event), corrects);
    }
  }
  for (const event of counted) {
    if (inCircle(idOf(event), parents)) {
      flags.push(flag("circular_correction", "Corrections name each other.", event));
    }
  }
  return { parents, ignored };
}

function inCircle(event_id: string, parents: ReadonlyMap<string, string>): boolean {
  const seen = new Set<string>();
  let step = parents.get(event_id);
  while (step !== undefined && !seen.has(step)) {
    if (step === event_id) return true;
    seen.add(step);
    step = parents.get(step);
  }
  return false;
}

/** For each event, which event holds its place (null: withdrawn), from the leaves up. */
function holders(
  roots: readonly FoldEvent[], children: ReadonlyMap<string, FoldEvent[]>, flags: Flag[],
): { holder: Map<string, FoldEvent | null>; effective: Set<string> } {
  const reached = [...roots];
  for (const event of reached) reached.push(...(children.get(idOf(event)) ?? []));
  const holder = new Map<string, FoldEvent | null>();
  const effective = new Set<string>();
  for (const event of reached.reverse()) {
    const acting = children.get(idOf(event)) ?? [];
    const takenBack = acting.some((child) => child.body.type === WITHDRAWN && effective.has(idOf(child)));
    if (event.body.type === WITHDRAWN) {
      if (!takenBack) effective.add(idOf(event));
      continue;
    }
    if (takenBack) {
      holder.set(idOf(event), null);
      continue;
    }
    const standing = acting.filter((child) => holder.get(idOf(child)) != null);
    const latest = standing.reduce<FoldEvent | null>(
      (best, child) => (best === null || idOf(child) > idOf(best) ? child : best), null);
    if (latest !== null && standing.length > 1) {
      flags.push(flag("two_corrections", "One entry was corrected more than once.", latest));
    }
    holder.set(idOf(event), latest === null ? event : (holder.get(idOf(latest)) ?? null));
  }
  return { holder, effective };
}

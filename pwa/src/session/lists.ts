/** Lists: which version is in force, what was answered late, who has still to read one. Pure. */

import type { ListDocument, ListItem, ListVersion } from "./types";

/** Kinds of lists, in the order in which they are due. */
export const KINDS = ["before_patient", "time_out", "pause", "after_use"] as const;
export type ListKind = (typeof KINDS)[number];

/** This project's own choice: time enough to clear up and to put the handpiece to be sterilised. */
export const AFTER_USE_WITHIN_S = 1800;

/** The date, YYYY-MM-DD, that the calendar of `zone` shows at a moment [ms]. */
export function localDay(at_ms: number, zone: string | null): string {
  let calendar = calendars.get(zone);
  if (!calendar) {
    // The Swedish form of a date is the ISO one.
    calendar = new Intl.DateTimeFormat("sv-SE", { timeZone: zone ?? undefined });
    calendars.set(zone, calendar);
  }
  return calendar.format(at_ms);
}
/** Making one takes longer than all that is asked of it for one screen. */
const calendars = new Map<string | null, Intl.DateTimeFormat>();

const begun = (version: ListVersion, today: string): boolean =>
  version.effective_from == null || version.effective_from <= today;

/** All versions of a list, in order of publication. */
export function versionsOf(list: ListDocument): readonly ListVersion[] {
  return list.versions ?? (list.version ? [list] : []);
}

/** The last published version whose day has come, by the calendar of the location; null before. */
export function inForce(list: ListDocument, at_ms: number, zone: string | null): ListVersion | null {
  const today = localDay(at_ms, zone);
  return [...versionsOf(list)].reverse().find((version) => begun(version, today)) ?? null;
}

/** Published versions whose day is still to come, without those that a later one has replaced. */
export function upcoming(list: ListDocument, at_ms: number, zone: string | null): ListVersion[] {
  const today = localDay(at_ms, zone);
  const coming: ListVersion[] = [];
  for (const version of [...versionsOf(list)].reverse()) {
    if (begun(version, today)) break;
    if (!coming.some((after) => after.effective_from! <= version.effective_from!)) coming.push(version);
  }
  return coming.reverse();
}

export type State = "in time" | "late" | "not answered";
export interface Lateness {
  kind: ListKind;
  state: State;
  /** Whole seconds, rounded up; null unless late. */
  late_by_s: number | null;
  completed_at: string | null;
  /** Which pause it is about. */
  pause_from_at: string | null;
}

interface Completed { completed_at: string }
/** What of a record document this looks at; fields that older records lack may be missing. */
export interface Answerable {
  time_out: Completed | null;
  lists?: readonly (Completed & { kind: string; within_s?: number | null })[];
  passes: readonly { started_at: string }[];
  pauses?: readonly { from_at: string; to_at: string | null }[];
  ended_at: string | null;
}

/**
 * One row for each list that a procedure calls for; mirror of `api/safety/lateness.py`, both held
 * to `tests/vectors/lateness.json`. It compares the tablets' clocks as the record has them.
 */
export function lateness(record: Answerable, after_use_within_s = AFTER_USE_WITHIN_S): Lateness[] {
  const answered = record.lists ?? [];
  const of = (kind: ListKind) => answered.filter((one) => one.kind === kind);
  const starts = record.passes.map((pass) => Date.parse(pass.started_at));
  const first_pass = starts.length > 0 ? Math.min(...starts) : null;
  const after_use = earliest(of("after_use"));
  const within_s = after_use?.within_s ?? after_use_within_s;
  const after_use_due = record.ended_at ? Date.parse(record.ended_at) + within_s * 1000 : null;
  return [
    row("before_patient", of("before_patient"), first_pass),
    row("time_out", record.time_out ? [record.time_out] : [], first_pass),
    ...pauses(record.pauses ?? [], of("pause")),
    row("after_use", after_use ? [after_use] : [], after_use_due),
  ];
}

function earliest<C extends Completed>(answered: readonly C[]): C | null {
  return answered.reduce<C | null>((a, b) => (a && Date.parse(a.completed_at) <= Date.parse(b.completed_at) ? a : b), null);
}

function pauses(all: readonly { from_at: string; to_at: string | null }[], answered: readonly Completed[]): Lateness[] {
  const ordered = [...all].sort((a, b) => Date.parse(a.from_at) - Date.parse(b.from_at));
  return ordered.map((pause, i) => {
    const from = Date.parse(pause.from_at);
    const next = ordered[i + 1] ? Date.parse(ordered[i + 1]!.from_at) : Infinity;
    const own = answered.filter(({ completed_at }) => from <= Date.parse(completed_at) && Date.parse(completed_at) < next);
    return row("pause", own, pause.to_at ? Date.parse(pause.to_at) : null, pause.from_at);
  });
}

function row(kind: ListKind, answered: readonly Completed[], due_ms: number | null, pause_from_at: string | null = null): Lateness {
  const first = earliest(answered);
  if (!first) return { kind, state: "not answered", late_by_s: null, completed_at: null, pause_from_at };
  const over_ms = due_ms === null ? 0 : Date.parse(first.completed_at) - due_ms;
  const late = over_ms > 0;
  return {
    kind, state: late ? "late" : "in time", late_by_s: late ? Math.ceil(over_ms / 1000) : null,
    completed_at: first.completed_at, pause_from_at,
  };
}

/** Whom a list concerns: those who work at the chair, except who published the version. */
export const AT_THE_CHAIR: readonly string[] = ["clinician", "assistant"];

/** The version whose reading is asked for: the newest one that asks. */
export function askedVersion(list: ListDocument): ListVersion | null {
  return [...versionsOf(list)].reverse().find((version) => version.needs_acknowledgement) ?? null;
}

/** The version to read now if this person has still to acknowledge it, else null. */
export function toRead(list: ListDocument, who: { person_id: string; roles: readonly string[] }): ListVersion | null {
  const wanted = askedVersion(list);
  if (!wanted || wanted.published_by === who.person_id) return null;
  if (!who.roles.some((role) => AT_THE_CHAIR.includes(role))) return null;
  const read = (list.acknowledged_by ?? []).some((one) => one.person_id === who.person_id && one.version >= wanted.version);
  // What is read is the newest text: it holds what the asking version changed.
  return read ? null : versionsOf(list)[versionsOf(list).length - 1]!;
}

/** Of some people those who have still to read it. */
export function missing<P extends { person_id: string; roles: readonly string[] }>(list: ListDocument, people: readonly P[]): P[] {
  return people.filter((one) => toRead(list, one) !== null);
}

export type Given = "yes" | "no" | "not applicable";

/** Whether an answer to this item has to say why. */
export function needsReason(item: ListItem, answer: Given): boolean {
  return answer === "no" || (answer === "not applicable" && item.not_applicable === "reason");
}

/** Which answers an item takes: one that always applies has no "not applicable". */
export function takes(item: ListItem, answer: Given): boolean {
  return answer !== "not applicable" || item.not_applicable !== "never";
}

interface OwnEvent {
  event_id: string;
  body: { type: string; occurred_at: string; actor_id: string | null; base_version?: number | null; corrects?: string | null };
  payload: unknown;
  result: unknown;
}

/**
 * A list with what this tablet has said about it and the server's copy does not hold yet, so that
 * a version published or read without a network counts here at once.
 */
export function withOwn(list: ListDocument, own: readonly OwnEvent[]): ListDocument {
  return own.reduce(step, list);
}

function step(list: ListDocument, event: OwnEvent): ListDocument {
  const outcome = (event.result as { outcome?: string } | null)?.outcome;
  // What was refused or put aside does not count; it comes back as a draft, where it is one.
  if (outcome != null && outcome !== "applied" && outcome !== "duplicate") return list;
  const { type, occurred_at, actor_id, corrects } = event.body;
  const drafts = list.drafts ?? [];
  if (type === "list.published") {
    const known = [...versionsOf(list), ...drafts, ...(list.set_aside ?? [])].some((one) => one.event_id === event.event_id);
    if (known) return list;
    const version = { ...(event.payload as ListVersion), event_id: event.event_id, published_at: occurred_at, published_by: actor_id };
    return {
      ...list, ...version, list_id: list.list_id, versions: [...versionsOf(list), version],
      drafts: drafts.filter((one) => one.event_id !== version.from_draft),
    };
  }
  if (type === "list.set_aside") return { ...list, drafts: drafts.filter((one) => one.event_id !== corrects) };
  if (type === "list.acknowledged" && actor_id) {
    const { version } = event.payload as { version: number };
    const said = list.acknowledged_by ?? [];
    if (said.some((one) => one.person_id === actor_id && one.version === version)) return list;
    return { ...list, acknowledged_by: [...said, { person_id: actor_id, version, at: occurred_at }] };
  }
  return list;
}

/** Entries that were put aside, put together as somebody decides about them, each in a sentence. */
import { momentText } from "../../parts/dates";
import { quantityText } from "../../parts/quantity";
import { historyOf, type HistoryWords } from "../../session/history";
import { personName } from "../../session/house";
import type { HistoryLine } from "../../session/record";
import type { Settings } from "../../session/types";
import type { AsideEntry } from "../../sync/aside";
import { t } from "../../text";
import { settingsText } from "../facts";

/** Entries of one record from one tablet stand or fall together; anything else stands by itself. */
export interface Group { key: string; about_record: boolean; entries: AsideEntry[] }

/** A server that was asked for one more page sends the latest first; they are read as they were made. */
export function groupsOf(entries: readonly AsideEntry[]): Group[] {
  const groups = new Map<string, Group>();
  for (const one of entries) {
    const about_record = one.subject === "record" && one.entity_id !== null;
    const key = about_record ? `${one.entity_id} ${one.tablet_id} ${one.decided?.status ?? ""}` : String(one.position);
    const group = groups.get(key) ?? { key, about_record, entries: [] };
    group.entries.unshift(one);
    groups.set(key, group);
  }
  return [...groups.values()];
}

export const nameOf = (person_id: string | null): string => (person_id === null ? null : personName(person_id)) ?? t.aside.somebody;

/** What each entry says; without its content, what kind of thing it is. */
export function sentences({ entries }: Group): Map<number, string> {
  const told = new Map(historyOf({ history: entries.filter(({ said }) => said !== null).map(lineOf) }, t.history as unknown as HistoryWords, {
    person: (id) => personName(id),
    settings: (settings) => settingsText(settings as Settings),
    moment: momentText,
    quantity: quantityText,
  }).map((one) => [one.event_id, one.text]));
  return new Map(entries.map((one) => [one.position, told.get(one.event_id) ?? t.aside.line(nameOf(one.actor_id), thingOf(one))]));
}

function thingOf({ type, name }: AsideEntry): string {
  const things: Readonly<Record<string, string>> = { ...t.aside.things, ...t.history.things };
  const thing = things[type ?? ""] ?? t.aside.other;
  return name === null ? thing : t.aside.named(thing, name);
}

const lineOf = (one: AsideEntry): HistoryLine => ({
  event_id: one.event_id, type: one.type!, at: one.occurred_at ?? one.received_at, by: one.actor_id, tablet_id: one.tablet_id,
  tablet_seq: one.position, corrects: one.corrects, body_hash: "", effective: true, said: one.said, changes: [],
}) as unknown as HistoryLine;

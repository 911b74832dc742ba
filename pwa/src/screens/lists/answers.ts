/** Answers to a list while it is being answered. Pure. */
import type { ItemAnswer } from "../../events/catalogue";
import { needsReason, type Given } from "../../session/lists";
import type { ListItem } from "../../session/types";

export interface Answer {
  answer: Given;
  /** When and by whom this one item was answered. */
  answered_at: string;
  by: string;
  /** The reason, once it was kept. */
  note: string | null;
  /** What has been typed of it so far. */
  typed: string;
  /** The reason is to be written after the other items. */
  later: boolean;
}
export type Answers = Record<string, Answer>;

const reasonMissing = (item: ListItem, given: Answer): boolean => needsReason(item, given.answer) && given.note === null;

/** The item to answer now: the first without an answer or a due reason, then reasons put off; null: all done. */
export function current(items: readonly ListItem[], answers: Answers): ListItem | null {
  const given = (item: ListItem) => answers[item.item_id];
  return items.find((item) => {
    const one = given(item);
    return !one || (reasonMissing(item, one) && !one.later);
  }) ?? items.find((item) => reasonMissing(item, given(item)!)) ?? null;
}

/** Whether the item has its answer and still lacks the reason. */
export function lacksReason(item: ListItem, answers: Answers): boolean {
  const given = answers[item.item_id];
  return given !== undefined && reasonMissing(item, given);
}

/** Whether some other item has no answer yet, so that a reason may be put off. */
export function othersOpen(items: readonly ListItem[], answers: Answers): boolean {
  return items.some((item) => !answers[item.item_id]);
}

export function counted(answers: Answers): Record<Given, number> {
  const all = Object.values(answers).map((one) => one.answer);
  const of = (wanted: Given) => all.filter((one) => one === wanted).length;
  return { yes: of("yes"), no: of("no"), "not applicable": of("not applicable") };
}

/** The answers as the record keeps them, in the order of the list. */
export function asRecorded(items: readonly ListItem[], answers: Answers): ItemAnswer[] {
  return items.map((item) => {
    const { answer, answered_at, by, note } = answers[item.item_id]!;
    return { item_id: item.item_id, text: item.text, answer, note: needsReason(item, answer) ? note : null, answered_at, by };
  });
}

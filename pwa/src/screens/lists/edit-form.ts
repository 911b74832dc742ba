/** A list while it is being changed. Pure. */
import { newId } from "../../events/ids";
import type { NewVersion } from "../../session/commands_lists";
import { AFTER_USE_WITHIN_S } from "../../session/lists";
import type { Beside, ListItem, ListVersion } from "../../session/types";
import type { StarterList } from "../../text/en/starters";

export interface FormItem { item_id: string; text: string; group: string; why: string; not_applicable: "plain" | "reason" | "never"; beside: Beside | null }

export interface ListForm {
  kind: string;
  /** The version that the changes build on; null for the first one. */
  base: number | null;
  title: string;
  items: FormItem[];
  effective: "now" | "day";
  day: string;
  ask: boolean;
  /** Of a list of after use: how long after the end it may be answered [s]. */
  within_s: number | null;
  from_draft: string | null;
  from_offer?: string | null;
  /** Begun from the common wording, which is still to be made the practice's own. */
  starter?: boolean;
  /** One for each version to be published, so that trying again does it once. */
  key: string;
}

/** Minutes after the end that may be chosen for a list of after use. */
export const WITHIN_MINUTES = [10, 15, 20, 30, 45, 60, 120] as const;
export const LONGEST_TEXT = 400;

export const emptyItem = (group = ""): FormItem => ({ item_id: newId(), text: "", group, why: "", not_applicable: "plain", beside: null });

export function fromVersion(version: ListVersion, base: number | null, from_draft: string | null = null): ListForm {
  return {
    kind: version.kind, base, title: version.title, effective: "now", day: "", ask: false, from_draft, key: newId(),
    within_s: version.kind === "after_use" ? version.within_s ?? AFTER_USE_WITHIN_S : null,
    items: version.items.map((item) => ({
      item_id: item.item_id, text: item.text, group: item.group ?? "", why: item.why ?? "", not_applicable: item.not_applicable ?? "plain", beside: item.beside ?? null,
    })),
  };
}

export function newForm(kind: string, title: string): ListForm {
  return {
    kind, base: null, title, items: [emptyItem()], effective: "now", day: "", ask: false, from_draft: null, key: newId(),
    within_s: kind === "after_use" ? AFTER_USE_WITHIN_S : null,
  };
}

/** Whether nobody has written anything yet. */
export const untouched = (form: ListForm): boolean => form.items.every((item) => !item.text.trim());

/** The form begun from a list that is not this practice's. */
export function fromStarter(form: ListForm, starter: StarterList): ListForm {
  const items = Object.values(starter.items).map((item): FormItem => ({ item_id: newId(), ...item }));
  return { ...form, title: starter.title, items, starter: true };
}

export function moved<T>(items: readonly T[], from: number, by: -1 | 1): T[] {
  const to = from + by;
  const after = [...items];
  if (to < 0 || to >= after.length) return after;
  [after[from], after[to]] = [after[to]!, after[from]!];
  return after;
}

export function inserted<T>(items: readonly T[], at: number, item: T): T[] {
  return [...items.slice(0, at), item, ...items.slice(at)];
}

/** The items as they are published: nothing said is said as null, blanks at the ends are dropped. */
export function itemsOf(form: ListForm): ListItem[] {
  return form.items.map((item) => ({
    item_id: item.item_id,
    text: item.text.trim(),
    group: item.group.trim() || null,
    why: item.why.trim() || null,
    not_applicable: item.not_applicable,
    // Kept in a draft of before there was any.
    beside: item.beside ?? null,
  }));
}

export function toPublish(form: ListForm): NewVersion {
  return {
    kind: form.kind, title: form.title.trim(), items: itemsOf(form),
    effective_from: form.effective === "day" ? form.day : null,
    needs_acknowledgement: form.ask, within_s: form.within_s, from_draft: form.from_draft,
    ...(form.from_offer ? { from_offer: form.from_offer } : {}),
  };
}

/** The version as the chair will see it. */
export const asVersion = (form: ListForm): ListVersion => ({ ...toPublish(form), version: (form.base ?? 0) + 1 });

export type Wrong = "title" | "none" | "text" | "same" | "day" | "long";
export interface Problems { title: Wrong | null; list: Wrong | null; day: Wrong | null; items: Record<string, Wrong> }

/** What stands against publishing, by field; `today` is the location's own date. */
export function problems(form: ListForm, today: string): Problems {
  const items: Record<string, Wrong> = {};
  const seen = new Set<string>();
  for (const item of form.items) {
    const text = item.text.trim();
    const plain = text.toLowerCase();
    if (text === "") items[item.item_id] = "text";
    else if (text.length > LONGEST_TEXT) items[item.item_id] = "long";
    else if (seen.has(plain)) items[item.item_id] = "same";
    seen.add(plain);
  }
  return {
    title: form.title.trim() === "" ? "title" : null,
    list: form.items.length === 0 ? "none" : null,
    day: form.effective === "day" && !(/^\d{4}-\d{2}-\d{2}$/.test(form.day) && form.day >= today) ? "day" : null,
    items,
  };
}

export const isSound = (found: Problems): boolean =>
  !found.title && !found.list && !found.day && Object.keys(found.items).length === 0;

/** Whether publishing would say anything new. */
export function changes(form: ListForm, base: ListVersion | null): boolean {
  if (!base || form.from_draft !== null || form.from_offer || form.ask) return true;
  const before = itemsOf(fromVersion(base, null));
  if (form.within_s !== fromVersion(base, null).within_s) return true;
  return form.title.trim() !== base.title || JSON.stringify(itemsOf(form)) !== JSON.stringify(before);
}

export type Difference = "only here" | "other words" | "other place" | null;

/** How an item of one version stands in the other: by its id, since words and places change. */
export function difference(item: ListItem, own: readonly ListItem[], other: readonly ListItem[]): Difference {
  const there = other.find((one) => one.item_id === item.item_id);
  if (!there) return "only here";
  const plain = (one: ListItem) => [one.text, one.group ?? "", one.why ?? "", one.not_applicable ?? "plain", one.beside ?? ""].join("\u0000");
  if (plain(there) !== plain(item)) return "other words";
  // Among the items that both have: one that was put in elsewhere moves nobody.
  const shared = (all: readonly ListItem[], others: readonly ListItem[]) =>
    all.filter((one) => others.some((two) => two.item_id === one.item_id)).map((one) => one.item_id);
  return shared(own, other).indexOf(item.item_id) === shared(other, own).indexOf(item.item_id) ? null : "other place";
}

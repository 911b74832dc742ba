/** The lists of this house as they count here and now. */
import { computed } from "@preact/signals";
import { house } from "./house";
import { inForce, withOwn } from "./lists";
import { zone } from "./state";
import type { ListDocument, ListVersion } from "./types";
import { eventsOf } from "./written";

/** Every list, with what this tablet said about it and the server has not sent back yet. */
export const lists = computed<ListDocument[]>(() =>
  house.value.lists.map((list) => withOwn(list, eventsOf(list.list_id))));

/** The zone by whose calendar a list comes into force. */
export const houseZone = (): string | null => house.value.place?.zone ?? zone.value;

export interface Asked { list_id: string; version: ListVersion }

/** What is asked now for one kind; of several such lists the one published last. */
export function listFor(kind: string, at_ms: number): Asked | null {
  const found = lists.value.flatMap((list) => {
    const version = list.kind === kind ? inForce(list, at_ms, houseZone()) : null;
    return version ? [{ list_id: list.list_id, version }] : [];
  });
  const published = (one: Asked) => Date.parse(one.version.published_at ?? "") || 0;
  return found.reduce<Asked | null>((best, one) => (best && published(best) >= published(one) ? best : one), null);
}

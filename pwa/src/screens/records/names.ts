/** Names of people and tablets in a record, here and at a desk that holds no register. */
import { signal } from "@preact/signals";
import type { RecordDocument } from "../../session/fold";
import { personName } from "../../session/house";
import { enrolled } from "../../session/state";
import { documents } from "../../store/documents";
import { t } from "../../text";

/** What the server sends along with a record that is read at a desk. */
interface SentAlong { people?: Record<string, { display_name?: string }>; tablets?: Record<string, string | null> }

export function nameOf(record: RecordDocument, id: string | null | undefined): string {
  return knownName(record, id) ?? (id ? t.common.unknownPerson : "");
}

export function knownName(record: RecordDocument, id: string | null | undefined): string | null {
  if (!id) return null;
  return personName(id) ?? (record as SentAlong).people?.[id]?.display_name ?? null;
}

const labels = signal<Record<string, string> | null>(null);

/** Fetch the tablets' labels from what this tablet holds; a desk gets them with the record. */
export function loadTabletLabels(): void {
  if (!enrolled.value) return;
  void documents<{ tablet_id: string; label: string }>("tablet").then((all) => {
    labels.value = Object.fromEntries(all.map((one) => [one.tablet_id, one.label]));
  }, () => undefined);
}

/** Where an entry was made, in words. */
export function placeOf(record: RecordDocument, tablet_id: string): string {
  const sent = (record as SentAlong).tablets;
  const label = sent?.[tablet_id] ?? labels.value?.[tablet_id];
  if (label) return label;
  if (tablet_id === enrolled.value?.tablet_id) return t.history.thisTablet;
  // Desks are no tablets: what is in no register of tablets was made at one.
  return sent || labels.value ? t.history.desk : t.history.otherTablet;
}

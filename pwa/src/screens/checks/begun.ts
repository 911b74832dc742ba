/** A list about a laser while it is being answered. Pure but for where it is kept. */
import { newId } from "../../events/ids";
import { nowText } from "../../events/times";
import type { DeviceChecked } from "../../events/catalogue";
import { judge, type CheckVerdict, type DeviceKind } from "../../session/check-verdict";
import { draft, type Draft } from "../../session/draft";
import type { Asked } from "../../session/house_lists";
import { localDay } from "../../session/lists";
import type { ListVersion } from "../../session/types";
import { asRecorded, current, type Answers } from "../lists/answers";
import { momentOf } from "../moment-text";

/** With the text it was begun with, whatever is published meanwhile; whoever goes on with it finds it. */
export interface Begun {
  key: string;
  list_id: string;
  version: ListVersion;
  answers: Answers;
  begun_at: string;
  note: string;
  /** As the browser's control writes it; null: just now. */
  earlier: string | null;
}

/** It belongs to the laser, not to the person: somebody else may finish it, and each answer says whose it is. */
export const begunDraft = (device_id: string, kind: DeviceKind): Draft<Begun | null> =>
  draft<Begun | null>(`device-check:${kind}:${device_id}`, null);

export const fresh = (asked: Asked): Begun =>
  ({ key: newId(), list_id: asked.list_id, version: asked.version, answers: {}, begun_at: nowText(), note: "", earlier: null });

/** Whether it was begun on an earlier day of the location, so that its answers say nothing of this one. */
export const stale = (begun: Begun, now_ms: number, zone: string | null): boolean =>
  Object.keys(begun.answers).length > 0 && localDay(Date.parse(begun.begun_at), zone) !== localDay(now_ms, zone);

export const complete = (begun: Begun): boolean => current(begun.version.items, begun.answers) === null;

/** When it was done as far as that can be said now; null: it cannot. What was looked at on an earlier day was not looked at just now. */
export function doneAt(begun: Begun, now: string, zone: string | null): string | null {
  if (begun.earlier === null) return stale(begun, Date.parse(now), zone) ? null : now;
  const said = momentOf(begun.earlier);
  return said !== null && Date.parse(said) <= Date.parse(now) ? said : null;
}

/** What its answers come to; everything has an answer. */
export function verdictOf(begun: Begun, kind: DeviceKind): CheckVerdict {
  return judge({ kind, verdict: "passed", answers: asRecorded(begun.version.items, begun.answers) }, { ...begun.version, kind }).verdict;
}

/** The check as it is written down; null while it is not known when it was done. */
export function toCheck(begun: Begun, device_id: string, kind: DeviceKind, now: string, zone: string | null): DeviceChecked | null {
  const done_at = doneAt(begun, now, zone);
  if (done_at === null) return null;
  return {
    device_id, kind, list_id: begun.list_id, list_version: begun.version.version, list_event_id: begun.version.event_id ?? null,
    title: begun.version.title, answers: asRecorded(begun.version.items, begun.answers), verdict: verdictOf(begun, kind),
    done_at, note: begun.note.trim() || null,
  };
}

/** What may be done with lists: answer one in a procedure, publish, acknowledge, decide about a draft. */
import type { ItemAnswer, OperatorAccepted } from "../events/catalogue";
import type { EventDraft } from "../events/build";
import { Refused, write } from "./commands";
import { say } from "./commands_house";
import type { RecordDocument } from "./fold";
import type { ListKind } from "./lists";
import type { ListItem, ListVersion } from "./types";

/** Write down a list as answered; answers the event, so that it can be taken back at once. */
export async function noteAnswers(
  record: RecordDocument, list: { list_id: string; version: ListVersion }, kind: ListKind, answers: ItemAnswer[], led_by: string,
  accepted: OperatorAccepted | null = null,
): Promise<string> {
  if (record.status !== "draft" && record.status !== "ended") {
    throw new Refused("signed", "A signed record is never changed; add an addendum.");
  }
  const said = { list_id: list.list_id, list_version: list.version.version, title: list.version.title, answers, led_by };
  const draft: EventDraft = kind === "time_out"
    ? { type: "timeout.answered", entity_id: record.record_id, payload: said }
    : { type: "list.answered", entity_id: record.record_id, payload: { kind, within_s: list.version.within_s ?? null, ...said } };
  const also: EventDraft[] = accepted ? [{ type: "operator.accepted", entity_id: record.record_id, payload: accepted }] : [];
  return (await write([draft, ...also]))[0]!;
}

export interface NewVersion {
  kind: string;
  title: string;
  items: ListItem[];
  /** YYYY-MM-DD, or null: at once. */
  effective_from: string | null;
  needs_acknowledgement: boolean;
  /** Of a list of after use: how long after the end it may be answered [s]. */
  within_s: number | null;
  from_draft: string | null;
  /** What the group offered, of which it was made. */
  from_offer?: string | null;
}

/**
 * Publish the version after `base`; answers its number.
 *
 * On a tablet it counts here at once and is judged when the server has it. At a desk the server
 * decides at once: it throws with code "version_not_current" where somebody was first.
 */
export async function publishList(list_id: string, base: number | null, said: NewVersion, key: string): Promise<number> {
  const version = (base ?? 0) + 1;
  await say({ type: "list.published", entity_id: list_id, payload: { ...said, version }, base_version: base }, key);
  return version;
}

export async function acknowledgeList(list_id: string, version: number): Promise<void> {
  await say({ type: "list.acknowledged", entity_id: list_id, payload: { version } });
}

/** Decide against a draft; it stays in the history. */
export async function setDraftAside(list_id: string, draft_event_id: string, reason: string): Promise<void> {
  await say({ type: "list.set_aside", entity_id: list_id, payload: { reason }, corrects: draft_event_id });
}

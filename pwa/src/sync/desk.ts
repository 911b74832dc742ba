/** What an office browser asks: online only, signed in by cookie, nothing kept. */

import { newId } from "../events/ids";
import type { Step } from "./access";
import { ask, askJson, readJson, Refused } from "./client";

export interface DeskSession { person: object; roles: string[]; location: object | string | null }

export interface RecordSummary {
  record_id: string;
  status: string;
  chart_number: string;
  second_identifier: string;
  procedure_text: string;
  site: string;
  operator_name: string;
  device_label: string;
  started_at: string;
  ended_at: string | null;
  signed_at: string | null;
  passes: number;
  version: number;
  placed_at: string | null;
  placed_version: number | null;
  flags: string[];
}

/** What made a later version than the one that is in the chart. */
export interface VersionChange { kind: string; version: number; at: string; by_name: string | null; reason: string | null }

/** A record whose present version is not in the chart, since when, and what came since the one that is. */
export interface WaitingRecord extends RecordSummary { waiting_since: string | null; changes: VersionChange[] }

/** What is left under a chart number that a record was moved from. */
export interface MovedAway { chart_number: string | null; at: string; by_id: string | null; by_name: string | null; reason: string | null }

/** A paper in a chart where it no longer belongs. */
export interface PaperToRemove extends MovedAway {
  record_id: string; event_id: string; kind: "moved" | "void"; second_identifier: string | null;
  procedure_text: string | null; site: string | null; started_at: string | null;
}

export interface RecordsWanted {
  status?: string; from?: string; to?: string; operator_id?: string; device_id?: string; procedure?: string;
  flagged?: boolean; waits_for_chart?: boolean; q?: string; cursor?: string;
}
export interface RecordsPage { records: RecordSummary[]; next_cursor: string | null; total: number; moved: MovedAway[] }

/** Sign in with a password; whoever has a second factor gets the step that asks for it. Throws Refused or NoAnswer. */
export async function deskSignIn(sign_in: string, password: string): Promise<{ step?: Step }> {
  return askJson("session/password", { body: { sign_in, password } });
}

/** Who is signed in here, or null. */
export async function deskSession(): Promise<DeskSession | null> {
  try {
    return await askJson<DeskSession>("session");
  } catch (problem) {
    if (problem instanceof Refused && problem.status === 401) return null;
    throw problem;
  }
}

export async function deskSignOut(): Promise<void> {
  await askJson<null>("session", { method: "DELETE" });
}

/** What is to be put into charts, or taken out of them, oldest first. */
export async function chartQueue(): Promise<{ records: WaitingRecord[]; to_remove: PaperToRemove[] }> {
  return askJson("chart-queue");
}

/** One page of records, latest first; asked in a body, because addresses end up in histories. */
export async function deskRecords(wanted: RecordsWanted = {}): Promise<RecordsPage> {
  const body = Object.fromEntries(Object.entries(wanted).filter(([, value]) => value !== "" && value !== false));
  return askJson("records/search", { body });
}

/** Write down that records of one patient are given to somebody; then their papers may be fetched. */
export async function releaseRecords(record_ids: string[], to: string, reason: string): Promise<{ record_id: string; version: number }[]> {
  return (await askJson<{ records: { record_id: string; version: number }[] }>("records/release", { body: { record_ids, to, reason } })).records;
}

export async function deskRecord(record_id: string): Promise<object> {
  return askJson<object>(`records/${encodeURIComponent(record_id)}`);
}

/** The text for the clipboard as it was rendered at signing. */
export async function recordText(record_id: string): Promise<{ text: string; sha256: string }> {
  return askJson(`records/${encodeURIComponent(record_id)}/text`);
}

/** The stored PDF; throws Refused with code `not_rendered_yet` while it is being made. */
export async function recordPdf(record_id: string): Promise<Blob> {
  const answer = await ask(`records/${encodeURIComponent(record_id)}/pdf`, { headers: { Accept: "application/pdf" } });
  if (!answer.ok) await readJson(answer);
  return answer.blob();
}

/**
 * Say that a version of a record is in the chart.
 *
 * Pass the same `key` again when a try had no answer: the server then does it once.
 */
export async function placeInChart(
  record_id: string, version: number, how: "pdf" | "text" | "other", key: string = newId(),
): Promise<{ event_id: string; position: number }> {
  return deskCommand({ type: "record.placed_in_chart", entity_id: record_id, payload: { how, note: null, version } }, key);
}

/** Say that a paper is out of the chart it no longer belonged in. */
export async function removedFromChart(record_id: string, because: string, key: string = newId()): Promise<{ event_id: string; position: number }> {
  return deskCommand({ type: "record.removed_from_chart", entity_id: record_id, payload: { because, note: null } }, key);
}

/** Take back what was said about the chart. */
export async function takeBackAtChart(record_id: string, event_id: string, reason: string, key: string = newId()): Promise<void> {
  await deskCommand({ type: "entry.withdrawn", entity_id: record_id, payload: { reason }, corrects: event_id }, key);
}

/** The documents of one of the house's registers. */
export async function deskRegister(kind: string): Promise<object[]> {
  return (await askJson<{ documents: object[] }>(`house?${new URLSearchParams({ kind }).toString()}`)).documents;
}

/**
 * Do something at a desk: the server makes the event.
 *
 * Pass the same `key` again when a try had no answer: the server then does it once.
 */
export async function deskCommand(
  draft: { type: string; entity_id: string; payload: object; base_version?: number | null; corrects?: string | null },
  key: string,
): Promise<{ event_id: string; position: number }> {
  const { type, entity_id, payload, base_version = null, corrects = null } = draft;
  return askJson(`commands/${encodeURIComponent(type)}`, {
    body: { entity_id, payload, base_version, corrects }, headers: { "Idempotency-Key": key },
  });
}

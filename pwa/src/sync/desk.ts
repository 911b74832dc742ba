/** What an office browser asks: online only, signed in by cookie, nothing kept. */

import { newId } from "../events/ids";
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
  placed_at: string | null;
  flags: string[];
  /** In the queue for the chart: since when it waits. */
  waiting_since?: string;
}

/** Sign in with a password; throws Refused or NoAnswer. */
export async function deskSignIn(sign_in: string, password: string): Promise<{ person: object; location_id: string }> {
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

/** Signed records not yet in the chart, oldest first. */
export async function chartQueue(): Promise<RecordSummary[]> {
  return (await askJson<{ records: RecordSummary[] }>("chart-queue")).records;
}

/** Records, narrowed by status, days and words; asked in a body, never in an address. */
export async function deskRecords(
  wanted: { status?: string; from?: string; to?: string; q?: string } = {},
): Promise<RecordSummary[]> {
  const body = Object.fromEntries(Object.entries(wanted).filter(([, value]) => value !== ""));
  return (await askJson<{ records: RecordSummary[] }>("records/search", { body })).records;
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
 * Say that a record is in the chart.
 *
 * Pass the same `key` again when a try had no answer: the server then does it once.
 */
export async function placeInChart(
  record_id: string, how: "pdf" | "text" | "other", note: string | null = null, key: string = newId(),
): Promise<{ event_id: string; position: number }> {
  return askJson("commands/record.placed_in_chart", {
    body: { entity_id: record_id, payload: { how, note } }, headers: { "Idempotency-Key": key },
  });
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

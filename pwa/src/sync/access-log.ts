/** What a desk asks of the access log: online only, in a body, because addresses end up in histories. */
import { ask, askJson, readJson } from "./client";

export const ACTIONS = ["read", "create", "change", "export", "sign_in", "refused"] as const;
export type ActionGroup = (typeof ACTIONS)[number];

export interface AccessWanted { person_id?: string; record_id?: string; chart_number?: string; action?: string; from?: string; to?: string }

export interface Access {
  access_id: number;
  at: string;
  action: string;
  actor_id: string | null;
  actor_name: string | null;
  tablet_id: string | null;
  tablet_label: string | null;
  subject_kind: string | null;
  subject_id: string | null;
  subject_name: string | null;
  detail: Record<string, unknown> | null;
}

const given = (wanted: AccessWanted): object => Object.fromEntries(Object.entries(wanted).filter(([, value]) => value !== ""));

/** One page, the newest first. */
export async function searchAccesses(wanted: AccessWanted, cursor: string | null): Promise<{ entries: Access[]; next_cursor: string | null }> {
  return askJson("access-log/search", { body: { ...given(wanted), ...(cursor === null ? {} : { cursor }) } });
}

/** The whole of it as a CSV file. */
export async function exportAccesses(wanted: AccessWanted): Promise<Blob> {
  const answer = await ask("access-log/export", { body: given(wanted), headers: { Accept: "text/csv" }, timeout_ms: 120_000 });
  if (!answer.ok) await readJson(answer);
  return answer.blob();
}

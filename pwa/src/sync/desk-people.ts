/** What a desk asks about the people of its location. */

import { askJson } from "./client";

/** One thing that was said of a person; which fields it has depends on `what` (api/people/told.py). */
export interface PersonLine {
  event_id: string;
  what: "registered" | "returned" | "changed" | "left" | "erased" | "credential" | "credential_withdrawn" | "scope" | "link_made" | "link_used";
  said?: Record<string, unknown>;
  at: string;
  by: string | null;
  roles?: string[];
  auditor_until?: string | null;
  roles_given?: string[];
  roles_taken?: string[];
  changes?: { field: string; was: string | null; now: string | null }[];
  reason?: string | null;
  /** What a one-time link was made for. */
  purpose?: string | null;
}

export type LinkPurpose = "invite" | "reset" | "reset_all";
export interface OneTimeLink { path: string; purpose: LinkPurpose; expires_at: string }

/** What was said of a person here, the latest first. */
export async function deskPersonHistory(person_id: string): Promise<PersonLine[]> {
  return (await askJson<{ history: PersonLine[] }>(`people/${encodeURIComponent(person_id)}`)).history;
}

/** Make a one-time link at which the person sets password and PIN; the server cannot show it again. */
export async function deskPersonLink(person_id: string, purpose: LinkPurpose): Promise<OneTimeLink> {
  return askJson(`people/${encodeURIComponent(person_id)}/link`, { body: { purpose } });
}

/** The proof of a record: made and checked by the server, online only, nothing kept. */
import { askJson, readJson, Refused } from "./client";
import { personToken } from "./people";
import { askAsTabletRenewing } from "./token";

export interface ProvedEntry { position: number; event_id: string; type: string; occurred_at: string; received_at: string; link: string }
export interface ProofResult {
  holds: boolean;
  position: number | null;
  reason: string | null;
  entries: ProvedEntry[];
  signed: number;
  certified: number;
  fingerprint: string;
}
/** What a paper says of itself, held beside the log. */
export interface ProvedPaper { version: number; newest: number; known: boolean; fits: boolean; position: number | null }
export interface Proof { result: ProofResult; proof: object; paper: ProvedPaper | null }

/** `version` and `link` as they stand in the address on a paper; null where there is no paper. */
export async function recordProof(record_id: string, version: string | null, link: string | null, on_tablet: boolean): Promise<Proof> {
  const query = new URLSearchParams(version === null ? {} : { version, ...(link === null ? {} : { link }) }).toString();
  const path = `records/${encodeURIComponent(record_id)}/proof${query ? `?${query}` : ""}`;
  if (!on_tablet) return askJson<Proof>(path);
  const token = personToken();
  if (token === null) throw new Refused(401, { code: "person_needed", detail: "Signed in without the server." });
  return readJson<Proof>(await askAsTabletRenewing(path, { headers: { "Dosebook-Person": token } }));
}

/** Presets in files, at a desk; and what a procedure's records used, from wherever there is a person. */

import { ask, askJson, readJson } from "./client";
import { personToken } from "./people";
import { askAsTabletRenewing } from "./token";

export type FileFormat = "csv" | "json";

export interface ImportedRow {
  row: number;
  name: string;
  outcome: "new" | "same" | "new version" | "refused";
  preset_id: string | null;
  version: number | null;
  event_id: string | null;
  errors: Record<string, string[]>;
}
export interface Imported { rows: ImportedRow[]; committed: boolean }

/** The presets in force as a file. */
export async function exportPresets(format: FileFormat): Promise<Blob> {
  const answer = await ask(`presets/export?${new URLSearchParams({ format }).toString()}`, { headers: { Accept: "*/*" } });
  if (!answer.ok) await readJson(answer);
  return answer.blob();
}

/** What a file would do; with a `key` it is done, and with the same key again done once. */
export async function importPresets(format: FileFormat, content: string, key: string | null): Promise<Imported> {
  return askJson("presets/import", {
    body: { format, content, commit: key !== null }, headers: key === null ? {} : { "Idempotency-Key": key },
  });
}

/** What the practice's signed records of a kind of procedure used, as the server counts them. */
export async function usageAtDesk(procedure_kind_id: string): Promise<unknown> {
  return askJson(`procedures/${encodeURIComponent(procedure_kind_id)}/usage`);
}

/** The same asked from a tablet; null where nobody is signed in with the server. */
export async function usageOnTablet(procedure_kind_id: string): Promise<unknown> {
  const token = personToken();
  if (token === null) return null;
  return readJson(await askAsTabletRenewing(`procedures/${encodeURIComponent(procedure_kind_id)}/usage`, { headers: { "Dosebook-Person": token } }));
}

/** The exposed cases of a laser, asked for by a desk: online only. */
import { ask, askJson, readJson } from "./client";

export interface Checked { event_id: string; at: string; handpiece_id: string; mode: string; ratio: string; meter_uncertainty: string }
export interface Window {
  failed: Checked; passed: Checked | null; same: boolean; passes: number[];
  ratio_least: string | null; ratio_most: string | null;
  set_energy_j: number | null; least_energy_j: number | null; most_energy_j: number | null;
}
export interface ExposedCase {
  record_id: string; location_id: string; location_name: string | null; status: string; started_at: string;
  chart_number: string | null; second_identifier: string | null; procedure_text: string | null; site: string | null; operator_name: string | null;
  windows: Window[];
  service: "overridden" | "not_overridden" | "not_known" | null;
  reasons: string[];
  causes: { event_id: string; kind: string; at: string }[];
}

const path = (device_id: string, form = ""): string => `devices/${encodeURIComponent(device_id)}/exposed${form}`;

export const exposedCases = async (device_id: string): Promise<ExposedCase[]> =>
  (await askJson<{ cases: ExposedCase[] }>(path(device_id))).cases;

/** The same as a file; that it was taken is written down. */
export async function exposedFile(device_id: string, form: "csv" | "pdf"): Promise<Blob> {
  const accept = form === "csv" ? "text/csv" : "application/pdf";
  const answer = await ask(path(device_id, `.${form}`), { headers: { Accept: accept }, timeout_ms: 120_000 });
  if (!answer.ok) await readJson(answer);
  return answer.blob();
}

/** Finding records among those this tablet holds. Pure. */

import type { RecordDocument } from "./record";

export interface Filters {
  words: string;
  status: string;
  from: string;
  to: string;
  operator_id: string;
  device_id: string;
  procedure: string;
  flagged: boolean;
  not_in_chart: boolean;
}

export const NO_FILTERS: Filters = {
  words: "", status: "", from: "", to: "", operator_id: "", device_id: "", procedure: "", flagged: false, not_in_chart: false,
};

/** Of a text what is searched: without case and accents; the same as on the server. */
export function plainWords(...texts: (string | null | undefined)[]): string {
  return texts.filter(Boolean).join(" ").normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase().replace(/\s+/g, " ").trim();
}

const searched = new WeakMap<RecordDocument, string>();

function wordsOf(record: RecordDocument, nameOf: (id: string) => string | null): string {
  let text = searched.get(record);
  if (text === undefined) {
    text = plainWords(
      record.patient?.chart_number, record.patient?.second_identifier, record.procedure?.text, record.site,
      record.operator_id ? nameOf(record.operator_id) : null);
    searched.set(record, text);
  }
  return text;
}

/** Fold the words of many records before somebody types, a few at a time, so that the first letter is answered at once. */
export async function readAhead(
  records: readonly RecordDocument[], nameOf: (id: string) => string | null, breath: () => Promise<void>,
): Promise<void> {
  for (let at = 0; at < records.length; at += AT_ONCE) {
    for (const record of records.slice(at, at + AT_ONCE)) wordsOf(record, nameOf);
    await breath();
  }
}
const AT_ONCE = 200;

/** Signed, not void, and the present version is not in the chart. Of an erased record no paper is made. */
export function waitsForChart(record: RecordDocument): boolean {
  if (record.sign_off === null || record.voided !== null || record.erased) return false;
  return record.chart === null || (record.chart.version ?? 1) < record.version;
}

/** The records that fit, in the order given. */
export function matching(records: readonly RecordDocument[], wanted: Filters, nameOf: (id: string) => string | null): RecordDocument[] {
  const words = plainWords(wanted.words).split(" ").filter(Boolean);
  return records.filter((record) => {
    // The day on the practice's own wall clock, which is the day people ask for.
    const day = record.started_at?.slice(0, 10) ?? "";
    return (!wanted.status || record.status === wanted.status)
      && (!wanted.from || day >= wanted.from)
      && (!wanted.to || (day !== "" && day <= wanted.to))
      && (!wanted.operator_id || record.operator_id === wanted.operator_id)
      && (!wanted.device_id || record.device?.device_id === wanted.device_id)
      && (!wanted.procedure || record.procedure?.text === wanted.procedure)
      && (!wanted.flagged || record.flags.length > 0)
      && (!wanted.not_in_chart || waitsForChart(record))
      && (words.length === 0 || words.every((word) => wordsOf(record, nameOf).includes(word)));
  });
}

/** Whether a text names a patient, by either identifier; under an old number it must not. */
export function namesPatient(said: string, patient: { chart_number: string; second_identifier: string }): boolean {
  const bare = (one: string) => plainWords(one).replace(/[^\p{L}\p{N}_]+/gu, " ").trim();
  const words = ` ${bare(said)} `;
  return [patient.chart_number, patient.second_identifier].map(bare).some((one) => one !== "" && words.includes(` ${one} `));
}

/** The reason is null where it names the patient to whom the record was moved. */
export interface Tombstone { event_id: string; chart_number: string; at: string; by: string | null; reason: string | null }

/** What was moved away from a chart number that is asked for; never where it went. */
export function movedAway(records: readonly RecordDocument[], words: string): Tombstone[] {
  const asked = new Set([words, ...words.split(/\s+/)].map((one) => plainWords(one)).filter(Boolean));
  if (asked.size === 0) return [];
  return records.flatMap((record) => record.reattributions
    .filter(({ from }) => asked.has(plainWords(from.chart_number)) && plainWords(record.patient?.chart_number) !== plainWords(from.chart_number))
    .map(({ from, to, event_id, at, by, reason }) => ({
      event_id, chart_number: from.chart_number, at, by, reason: namesPatient(reason, to) ? null : reason,
    })));
}

export interface Facets { operators: string[]; devices: { device_id: string; label: string }[]; procedures: string[] }

/** What there is to choose from among these records. */
export function facetsOf(records: readonly RecordDocument[]): Facets {
  const operators = new Set<string>();
  const devices = new Map<string, string>();
  const procedures = new Set<string>();
  for (const { operator_id, device, procedure } of records) {
    if (operator_id) operators.add(operator_id);
    if (device) devices.set(device.device_id, device.label);
    if (procedure) procedures.add(procedure.text);
  }
  return {
    operators: [...operators],
    devices: [...devices].map(([device_id, label]) => ({ device_id, label })),
    procedures: [...procedures].sort((a, b) => a.localeCompare(b)),
  };
}

/** What is typed when a case is opened, and what it means; the same form puts an opening right. */
import { nowText } from "../../events/times";
import type { ProcedureOpened } from "../../events/catalogue";
import type { OpenForm } from "../../session/commands";
import type { RecordDocument } from "../../session/fold";
import { kinds } from "../../session/house_presets";
import { startedMs } from "../../session/written";
import { t } from "../../text";
import { localOf, momentOf } from "../moment-text";

export interface OpeningForm {
  chart: string; initials: string;
  kind: string; text: string;
  site: string; tooth: string; quadrant: string;
  indication: string; why: string;
  /** Null: nobody has said so yet, and what is known is filled in. */
  operator: string; supervising: string | null; assistants: string[] | null; others: string; room: string | null;
  consent: boolean; consent_by: string; consent_at: string;
  anaesthesia: string; alerts: boolean;
  /** Reasons given for what stands against going on, by what it is. */
  reasons: Record<string, string>;
}

export const OTHER = "other";

export const EMPTY: OpeningForm = {
  chart: "", initials: "", kind: "", text: "", site: "", tooth: "", quadrant: "", indication: "", why: "", operator: "",
  supervising: null, assistants: null, others: "", room: null, consent: false, consent_by: "", consent_at: "", anaesthesia: "",
  alerts: false, reasons: {},
};

/** Of records, the newest first, the first of today that fits. */
export function firstToday(records: readonly RecordDocument[], now_ms: number, fits: (record: RecordDocument) => boolean): RecordDocument | null {
  const midnight = new Date(now_ms).setHours(0, 0, 0, 0);
  for (const record of records) {
    if (startedMs(record) < midnight) return null;
    if (fits(record)) return record;
  }
  return null;
}

/** The last case that this person opened today: of it people and room are taken over, never anything about its patient. */
export const lastToday = (records: readonly RecordDocument[], person_id: string, now_ms: number): RecordDocument | null =>
  firstToday(records, now_ms, (record) => record.history[0]?.by === person_id);

export interface Known {
  /** The last case of today, of which people and room are taken over. */
  last: RecordDocument | null;
  /** Who is signed in. */
  who: { person_id: string; roles: readonly string[] };
  /** The kind of procedure that the planned preset is for, where the practice still offers it. */
  kind: string | null;
  clinicians: readonly { person_id: string }[];
}

/** What is known already fills what nobody has said; whoever opens a case and does not operate assists. */
export function withDefaults(form: OpeningForm, { last, who, kind, clinicians }: Known): OpeningForm {
  const only = clinicians.length === 1 ? clinicians[0]!.person_id : "";
  const operator = form.operator || (last?.operator_id ?? (who.roles.includes("clinician") ? who.person_id : only));
  const assisting = new Set(last?.assistant_ids ?? []);
  if (who.roles.includes("assistant")) assisting.add(who.person_id);
  assisting.delete(operator);
  return {
    ...form, operator,
    kind: form.kind || (kind ?? ""),
    supervising: form.supervising ?? last?.supervising_id ?? null,
    assistants: form.assistants ?? [...assisting],
    room: form.room ?? last?.room ?? null,
  };
}

export function siteText(form: Pick<OpeningForm, "site" | "tooth" | "quadrant">): string {
  return [form.tooth.trim() && t.opening.toothText(form.tooth.trim()), form.quadrant, form.site.trim()].filter(Boolean).join(", ");
}

export function procedureOf(form: OpeningForm): ProcedureOpened["procedure"] {
  const kind = kinds.value.find((k) => k.procedure_kind_id === form.kind);
  return { procedure_kind_id: kind?.procedure_kind_id ?? null, text: kind ? kind.text : form.text.trim(), code: kind?.code ?? null };
}

/** What still has to be said, by the words at the fields. */
export function missing(form: OpeningForm, operator: string): string[] {
  const words = t.case;
  return [
    form.chart.trim() ? null : words.chart, form.initials.trim() ? null : words.initials,
    procedureOf(form).text ? null : words.procedure, siteText(form) ? null : words.site,
    form.indication.trim() ? null : words.indication, operator ? null : words.operator,
  ].filter((one): one is string => one !== null);
}

/** The form as a command takes it, but for laser, tip and emission. */
export function said(form: OpeningForm, operator: string): Omit<OpenForm, "device_id" | "handpiece_id" | "mode"> {
  const text = (value: string) => value.trim() || null;
  return {
    chart_number: form.chart.trim(), second_identifier: form.initials.trim(), procedure: procedureOf(form),
    site: siteText(form), indication: form.indication.trim(), why_laser: text(form.why),
    operator_id: operator, supervising_id: form.supervising || null, assistant_ids: (form.assistants ?? []).filter((id) => id !== operator),
    others_present: text(form.others), room: form.room,
    consent: form.consent ? { by: form.consent_by || operator, at: momentOf(form.consent_at) ?? nowText() } : null,
    anaesthesia: text(form.anaesthesia), alerts_reviewed: form.alerts,
  };
}

/** An opening as the form shows it. */
export function formOf(opened: ProcedureOpened): OpeningForm {
  const known = kinds.value.some((k) => k.procedure_kind_id === opened.procedure.procedure_kind_id);
  return {
    ...EMPTY,
    chart: opened.patient.chart_number, initials: opened.patient.second_identifier,
    kind: known ? opened.procedure.procedure_kind_id! : OTHER, text: known ? "" : opened.procedure.text,
    site: opened.site, indication: opened.indication, why: opened.why_laser ?? "",
    operator: opened.operator_id, supervising: opened.supervising_id, assistants: opened.assistant_ids,
    others: opened.others_present ?? "", room: opened.room, consent: opened.consent !== null,
    consent_by: opened.consent?.by ?? "", consent_at: opened.consent ? localOf(opened.consent.at) : "",
    anaesthesia: opened.anaesthesia ?? "", alerts: opened.alerts_reviewed,
  };
}

/** What stands in the form of an incident, what is wrong with it, and what it says. */
import type { IncidentRecorded } from "../../events/catalogue";
import { newId } from "../../events/ids";
import { nowText } from "../../events/times";
import type { RecordDocument } from "../../session/fold";
import type { Settings } from "../../session/types";
import type { Incident } from "../../session/upkeep";
import { settingsText } from "../facts";
import { localOf, momentOf } from "../moment-text";

export interface IncidentDraft {
  id: string; key: string; at: string; kind: string; harm: string; what: string; roles: string[]; device_id: string; settings_text: string;
  record_id: string | null; settings: Settings | null; done_at_once: string; take_out: boolean;
}
export type WrongIn = "choose" | "missing" | "moment" | "ahead";

/** The form to begin with: of what was said before, else with the laser and the last settings of an open case. */
export function begun(from: Incident | null, record: RecordDocument | null): IncidentDraft {
  if (from) {
    return {
      id: from.incident_id, key: newId(), at: localOf(from.happened_at), kind: from.kind, harm: from.harm, what: from.what,
      roles: from.people.map(({ role }) => role), device_id: from.device_id ?? "", settings_text: from.settings_text ?? "",
      record_id: from.record_id, settings: from.settings as Settings | null, done_at_once: from.done_at_once, take_out: from.device_taken_out,
    };
  }
  const settings = (record?.passes.at(-1)?.settings ?? null) as Settings | null;
  return {
    id: newId(), key: newId(), at: localOf(nowText()), kind: "", harm: "", what: "", roles: [], device_id: record?.device?.device_id ?? "",
    settings_text: settings ? settingsText(settings) : "", record_id: record?.record_id ?? null, settings, done_at_once: "", take_out: false,
  };
}

/** What is wrong, by field. */
export function wrongIn(form: IncidentDraft, now_ms: number): Partial<Record<keyof IncidentDraft, WrongIn>> {
  const at = momentOf(form.at);
  return {
    ...(form.kind ? {} : { kind: "choose" }), ...(form.harm ? {} : { harm: "choose" }),
    ...(form.what.trim() ? {} : { what: "missing" }), ...(form.done_at_once.trim() ? {} : { done_at_once: "missing" }),
    ...(at === null ? { at: "moment" } : Date.parse(at) > now_ms ? { at: "ahead" } : {}),
  };
}

/** What a form without anything wrong says; people who were named before stay named. */
export function saidIn(form: IncidentDraft, from: Incident | null): IncidentRecorded {
  const laser = form.device_id || null;
  return {
    happened_at: momentOf(form.at)!, kind: form.kind, harm: form.harm, what: form.what.trim(),
    people: form.roles.map((role) => ({ role, person_id: from?.people.find((one) => one.role === role)?.person_id ?? null })),
    device_id: laser, handpiece_id: from?.handpiece_id ?? null, settings: form.settings, settings_text: form.settings_text.trim() || null, record_id: form.record_id,
    done_at_once: form.done_at_once.trim(), device_taken_out: Boolean(from?.device_taken_out) || (form.take_out && laser !== null),
  };
}

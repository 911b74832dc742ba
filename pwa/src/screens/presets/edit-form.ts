/** A preset while it is being made or changed. */
import { newId } from "../../events/ids";
import type { Content } from "../../session/commands_presets";
import { draft, type Draft } from "../../session/draft";
import { presetsInForce } from "../../session/house_presets";
import { compared } from "../../session/presets";
import { withCheck } from "../../session/settings";
import { person } from "../../session/state";
import type { Preset, PresetDocument } from "../../session/types";
import { t } from "../../text";
import type { Composed, PlanForm } from "../plan/form";
import { emptyForm, fromPreset } from "../plan/form";
import { tipOf } from "./start";

export interface EditForm {
  preset_id: string;
  /** The version it builds on; null for the first one. */
  base: number | null;
  /** The withdrawal that it answers. */
  answers: string | null;
  from_draft: string | null;
  from_offer?: string | null;
  plan: PlanForm;
  name: string;
  kind: string;
  note: string;
  reviewer: string;
  /** One for each version to be published, so that trying again does it once. */
  key: string;
}

/** What a person has typed about one preset and not published yet; null where nothing is. */
export const editing = (preset_id: string | null): Draft<EditForm | null> =>
  draft<EditForm | null>(`preset-edit:${person.value!.person_id}:${preset_id ?? "new"}`, null);

export function newForm(plan: PlanForm = emptyForm()): EditForm {
  return {
    preset_id: newId(), base: null, answers: null, from_draft: null, plan: { ...plan, preset: null, preset_settings: null, from_pass: null },
    name: "", kind: "", note: "", reviewer: person.value!.person_id, key: newId(),
  };
}

/** The values of one version, to be published after the one in force. */
export function formFrom(known: PresetDocument, values: Preset, from_draft: string | null): EditForm {
  return {
    preset_id: known.preset_id, base: known.version ?? null, answers: known.withdrawn?.event_id ?? null, from_draft,
    plan: fromPreset(emptyForm(), values, tipOf(values)), name: values.name, kind: values.procedure_kind_id ?? "",
    note: values.note ?? "", reviewer: person.value!.person_id, key: newId(),
  };
}

/** What is to be published. No power check belongs to a preset: it is of one day, and of the pass. */
export function contentOf(form: EditForm, composed: Composed): Content {
  return {
    name: form.name.trim(), procedure_kind_id: form.kind || null, device_id: form.plan.device_id, handpiece_id: form.plan.handpiece_id,
    settings: withCheck(composed.settings, null), spot_known: form.plan.spot_known, focus: form.plan.focus, coolant: form.plan.coolant,
    note: form.note.trim() || null, reviewed_by: form.reviewer,
  };
}

/** What stands against the name, in words. */
export function wrongName(form: EditForm): string | null {
  const name = form.name.trim().toLowerCase();
  if (name === "") return t.presets.wrong["name"]!;
  const same = presetsInForce.value.some((one) => one.preset_id !== form.preset_id && one.name.trim().toLowerCase() === name
    && one.device_id === form.plan.device_id && one.handpiece_id === form.plan.handpiece_id);
  return same ? t.presets.wrong["same"]! : null;
}

/** Whether this would say anything that the version in force does not. */
export function isNews(form: EditForm, content: Content, known: PresetDocument | null): boolean {
  if (known?.version == null || known.withdrawn || form.from_draft || form.from_offer) return true;
  return compared(known as Preset, content).some((one) => one.differs && one.path !== "reviewed_by");
}

/** The settings in force in a case, and those it has had before. */
import { house } from "../../session/house";
import { presetsInForce } from "../../session/house_presets";
import { sameSettings } from "../../session/settings";
import type { RecordDocument, RecordPass } from "../../session/fold";
import type { Device, PassPlan, Settings } from "../../session/types";
import { compose, emptyForm, fromPreset, passPlan } from "../plan/form";
import { casePlan } from "../plan/drafts";

export const lastPass = (record: RecordDocument): RecordPass | undefined => record.passes[record.passes.length - 1];

/** Those of the open pass; before the first one those of the plan. */
export function currentPlan(record: RecordDocument, device: Device | null): PassPlan | null {
  const pass = lastPass(record);
  if (pass) return planOfPass(record, pass);
  const form = casePlan(record.record_id).value.value;
  const composed = compose(form, device);
  return composed.complete ? passPlan(form, composed.settings) : null;
}

/** The plan that a pass was: what the next one starts from. */
export function planOfPass(record: RecordDocument, pass: RecordPass): PassPlan {
  return {
    device_id: record.device?.device_id ?? "",
    handpiece_id: (pass.handpiece ?? record.handpiece)?.handpiece_id ?? "",
    settings: pass.settings as Settings,
    preset: pass.preset,
    preset_settings: presetSettings(record, pass.preset),
    spot_known: pass.spot_known,
    focus: pass.focus,
    coolant: pass.coolant,
    distance: pass.distance,
  };
}

function presetSettings(record: RecordDocument, preset: PassPlan["preset"]): Settings | null {
  if (!preset) return null;
  const known = presetsInForce.value.find((p) => p.preset_id === preset.preset_id && p.version === preset.version);
  if (known) return fromPreset(emptyForm(), known, house.value.handpieces.find((h) => h.handpiece_id === known.handpiece_id)).preset_settings;
  const unchanged = record.passes.find((p) => p.preset?.preset_id === preset.preset_id && !p.changed_from_preset);
  return (unchanged?.settings as Settings | undefined) ?? null;
}

/** Earlier passes whose settings or tip differ from those in force and from each other, the latest first. */
export function earlierSettings(record: RecordDocument, at_most: number): RecordPass[] {
  const found: RecordPass[] = [];
  const now = lastPass(record);
  const tipOf = (pass: RecordPass) => (pass.handpiece ?? record.handpiece)?.handpiece_id;
  for (const pass of [...record.passes].reverse()) {
    const known = [now, ...found].some((one) => one
      && sameSettings(one.settings as Settings, pass.settings as Settings) && tipOf(one) === tipOf(pass)
      && one.focus === pass.focus && one.coolant === pass.coolant);
    if (!known) found.push(pass);
    if (found.length === at_most) break;
  }
  return found;
}

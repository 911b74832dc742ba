/** Beginning something from a preset. */
import { house } from "../../session/house";
import { person } from "../../session/state";
import type { Preset } from "../../session/types";
import { openingDraft } from "../case/new";
import { emptyForm, fromPreset, type PlanForm } from "../plan/form";
import { judge } from "../plan/judge";
import { planDraft } from "../plan/drafts";
import { go } from "../route";

export const tipOf = (preset: Preset) => house.value.handpieces.find((h) => h.handpiece_id === preset.handpiece_id);
export const laserOf = (preset: Preset) => house.value.devices.find((d) => d.device_id === preset.device_id) ?? null;

/** The plan screen, filled from this preset. */
export function planWith(preset: Preset): void {
  planDraft(null).set(planned(preset));
  go("plan");
}

/** A new case with this preset and this kind of procedure; to the plan first where something stands against it. */
export function beginCase(preset: Preset, procedure_kind_id: string): void {
  const form = planned(preset);
  planDraft(null).set(form);
  const opening = openingDraft(person.value!.person_id);
  opening.set({ ...opening.value.value, kind: procedure_kind_id });
  go(...(judge(form, laserOf(preset)).why === null ? ["case", "new"] : ["plan"]));
}

const planned = (preset: Preset): PlanForm => fromPreset(emptyForm(), preset, tipOf(preset));

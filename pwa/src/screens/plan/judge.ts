/** What the physics and the laser's limits say to a form, and whether it can be used. */
import { doseOf, refusals, type DoseOutcome } from "../../session/dosing";
import type { Device, Settings } from "../../session/types";
import { t } from "../../text";
import { contradictionText } from "./dose";
import { atFields, compose, type Composed, type PlanForm } from "./form";

export interface Judged {
  composed: Composed;
  outcome: DoseOutcome | null;
  /** What the laser's limits refuse, and what else is wrong, by the field on the screen. */
  limits: Record<string, string>;
  errors: Record<string, string>;
  contradicted: boolean;
  /** Why it cannot be used; null where it can. */
  why: string | null;
}

export function judge(form: PlanForm, device: Device | null): Judged {
  const composed = compose(form, device);
  const outcome = composed.complete || composed.settings.emission["mode"] ? doseOf(asked(composed.settings, form.tissue)) : null;
  const limits = device ? atFields(refusals(composed.settings, device)) : {};
  const contradictions = outcome?.ok ? outcome.response.contradictions : [];
  const contradicted = contradictions.length > 0;
  const errors = outcome && !outcome.ok ? atFields(outcome.errors) : atContradictedFields(contradictions);
  const ready = composed.complete && outcome?.ok === true && Object.keys(limits).length === 0 && !contradicted;
  const why = ready ? null : contradicted ? t.plan.contradiction : Object.values(limits)[0] ?? t.plan.notReady;
  return { composed, outcome, limits, errors, contradicted, why };
}

/** The request of a screen: that of the settings, and the tissue somebody wants to see. */
function asked(settings: Settings, tissue: string | undefined): Settings {
  return tissue ? { ...settings, tissue: { kind: tissue } } as Settings : settings;
}

/** The engine's sentence at every field that takes part in a contradiction. */
function atContradictedFields(contradictions: unknown[]): Record<string, string> {
  const paths: Record<string, string> = {};
  for (const one of contradictions) {
    for (const path of (one as { fields?: string[] }).fields ?? []) paths[path] = contradictionText(one);
  }
  return atFields(paths);
}

/** The four ways to state a spot: their fields on the plan screen, and the request they mean. */
import type { PlanForm } from "./form";
import { quantity, readAs, type ValueName } from "./values";
import { t } from "../../text";

export const SPOT_FORMS = ["diameter", "lens", "waist", "bore"] as const;
export type SpotForm = (typeof SPOT_FORMS)[number];

interface FormFields { needed: readonly ValueName[]; optional: readonly ValueName[] }

/** In the order in which they are asked; the distance of the tissue comes last, it is stepped most. */
export const SPOT_FIELDS: Readonly<Record<SpotForm, FormFields>> = {
  diameter: { needed: ["spot"], optional: [] },
  lens: { needed: ["focal_length", "beam_diameter_at_lens", "beam_quality_m2", "defocus"], optional: [] },
  waist: { needed: ["waist_diameter", "beam_quality_m2", "defocus"], optional: [] },
  bore: { needed: ["bore_diameter", "distance"], optional: ["full_divergence"] },
};

/** The field whose presence tells which form the spot of a request has. */
const TELLTALE: Readonly<Record<SpotForm, string>> = {
  diameter: "diameter", lens: "focal_length", waist: "waist_diameter", bore: "bore_diameter",
};

export function spotFormOf(spot: Record<string, string> | null | undefined): SpotForm {
  return SPOT_FORMS.find((form) => spot?.[TELLTALE[form]] !== undefined) ?? "diameter";
}

/** Which values of the form say how far the tissue is from the waist or the tip. */
export function distanceField(form: SpotForm): ValueName | null {
  if (form === "diameter") return null;
  return form === "bore" ? "distance" : "defocus";
}

/** The spot of the request, and why it is not complete, by the field on the screen. */
export function spotRequest(form: PlanForm): { spot: Record<string, string> | null; missing: Record<string, string> } {
  const kind = form.spot_form ?? "diameter";
  const { needed, optional } = SPOT_FIELDS[kind];
  const spot: Record<string, string> = {};
  const missing: Record<string, string> = {};
  for (const name of [...needed, ...optional]) {
    const text = quantity(form, name);
    if (text) spot[name === "spot" ? "diameter" : name] = text;
    else if (readAs(form, name).kind !== "empty") missing[name] = "";
    else if (needed.includes(name)) missing[name] = t.common.number.needed;
  }
  if (kind === "diameter") spot["diameter_definition"] = form.definition;
  return { spot: Object.keys(missing).length === 0 ? spot : null, missing };
}

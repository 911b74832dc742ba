/** An offer as the forms that lists and presets are published with: taken over by value, by a person here. */
import type { ListVersion, Preset, PresetDocument } from "../../session/types";
import type { Offer } from "../../sync/rollouts";
import { fromVersion, type ListForm } from "../lists/edit-form";
import { emptyForm, fromPreset } from "../plan/form";
import { formFrom, newForm, type EditForm } from "../presets/edit-form";
import { tipOf } from "../presets/start";

/** The offered list as a version is shown. */
export const versionOf = (offer: Offer): ListVersion => ({ ...offer.list!, version: offer.version, effective_from: offer.effective_from } as ListVersion);

/** The next version of the list here, with the offer's words; the group's day is proposed. */
export function listForm(offer: Offer, base: number | null): ListForm {
  const form = fromVersion(versionOf(offer), base);
  return {
    ...form, from_offer: offer.offer_id, ask: offer.list!.needs_acknowledgement === true,
    ...(offer.effective_from ? { effective: "day", day: offer.effective_from } : {}),
  };
}

/** What the offer says of a preset, for a laser and a tip of this location. */
export function presetValues(offer: Offer, device_id: string, handpiece_id: string): Preset {
  const row = offer.row ?? {};
  const said = offer.preset ?? {
    name: row["name"] ?? offer.title, procedure_kind_id: null, settings: offer.settings!, note: row["note"] ?? null, reviewed_by: "",
    spot_known: row["spot_known"] ?? "", focus: row["focus"] ?? "", coolant: row["coolant"] ?? "",
  };
  return { ...said, preset_id: offer.subject_id ?? "", version: offer.version, device_id, handpiece_id };
}

/** The form of the next version of `known`, or of a new preset; whoever takes it over reviews it. */
export function presetForm(offer: Offer, values: Preset, known: PresetDocument | null): EditForm {
  if (known) return { ...formFrom(known, values, null), from_offer: offer.offer_id };
  const plan = fromPreset(emptyForm(), values, tipOf(values));
  return { ...newForm(plan), name: values.name, kind: values.procedure_kind_id ?? "", note: values.note ?? "", from_offer: offer.offer_id };
}

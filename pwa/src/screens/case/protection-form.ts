/** Protection as it is typed, and as it is recorded. */
import type { ProtectionNoted } from "../../events/catalogue";
import { readNumber } from "../../parts/number";
import type { RecordDocument } from "../../session/fold";
import { personName } from "../../session/house";
import { t } from "../../text";

export interface Worn { wearer: string; label: string; wavelength: string; density: string }
export interface ProtectionForm { heads: number; worn: Worn[]; evacuator: string; masks: string; deviations: string }

/** Everybody the record names, and the patient; what they wore in the last case is what they probably wear now. */
export function startForm(record: RecordDocument, last: ProtectionNoted | null): ProtectionForm {
  const names = [record.operator_id, ...record.assistant_ids].map(personName).filter((one): one is string => one !== null);
  const worn = [...new Set([...names, t.course.protection.patient])].map((wearer) => {
    const before = last?.eyewear.find((one) => one.wearer === wearer);
    return { wearer, label: before?.label ?? "", wavelength: before?.wavelength ?? "", density: before?.optical_density ?? "" };
  });
  return { heads: worn.length, worn, evacuator: last?.evacuator ?? "", masks: last?.masks ?? "", deviations: "" };
}

export function formOf(said: ProtectionNoted): ProtectionForm {
  return {
    heads: said.heads,
    worn: said.eyewear.map((one) => ({ wearer: one.wearer, label: one.label, wavelength: one.wavelength ?? "", density: one.optical_density ?? "" })),
    evacuator: said.evacuator ?? "", masks: said.masks ?? "", deviations: said.deviations ?? "",
  };
}

/** A line counts once it says who wears what. */
const whole = (one: Worn): boolean => one.wearer.trim() !== "" && one.label.trim() !== "";
export const wellDensity = (text: string): boolean => text.trim() === "" || readNumber(text).kind === "number";
export const uncovered = (form: ProtectionForm): number => Math.max(0, form.heads - form.worn.filter(whole).length);

export function saidBy(form: ProtectionForm): ProtectionNoted {
  const text = (value: string) => value.trim() || null;
  return {
    heads: form.heads,
    eyewear: form.worn.filter(whole).map((one) => {
      const density = readNumber(one.density);
      return {
        label: one.label.trim(), wearer: one.wearer.trim(), wavelength: text(one.wavelength),
        optical_density: density.kind === "number" ? density.text : null,
      };
    }),
    evacuator: text(form.evacuator), masks: text(form.masks), deviations: text(form.deviations),
  };
}

/** Protection as it is typed, and as it is recorded. */
import type { ProtectionNoted } from "../../events/catalogue";
import { readNumber } from "../../parts/number";
import type { RecordDocument } from "../../session/fold";
import { personName } from "../../session/house";
import type { Eyewear } from "../../session/protection";
import { t } from "../../text";

export interface Worn {
  wearer: string; label: string; wavelength: string; density: string;
  /** Of the register, where it was chosen from there or its label was read. */
  eyewear_id?: string | null;
  /** Written out instead of chosen. */
  other?: boolean;
  /** A head that the record does not name. */
  added?: boolean;
}
export interface ProtectionForm { heads: number; worn: Worn[]; evacuator: string; masks: string; deviations: string }

/** Everybody the case knows to be in the room, and the patient; whoever was replaced is not there any more. */
export function present(record: RecordDocument, assisting: readonly string[], signed_in: string | null): string[] {
  const names = [record.operator_id, ...assisting, signed_in].map(personName).filter((one): one is string => one !== null);
  return [...new Set([...names, t.course.protection.patient])];
}

/** One line for each head; what they wore in the last case of today is what they probably wear now. */
export function startForm(wearers: readonly string[], last: ProtectionNoted | null): ProtectionForm {
  const empty: ProtectionForm = { heads: wearers.length, worn: wearers.map((wearer) => ({ wearer, label: "", wavelength: "", density: "" })), evacuator: "", masks: "", deviations: "" };
  return last ? asBefore(empty, last) : empty;
}

/** The same people with what each wore before; whoever was not there then still has to choose. */
export function asBefore(form: ProtectionForm, before: ProtectionNoted): ProtectionForm {
  const worn = form.worn.map((line): Worn => {
    const same = before.eyewear.find((one) => one.wearer === line.wearer);
    return same ? { ...line, eyewear_id: null, ...written(same), other: false } : line;
  });
  return { ...form, worn, evacuator: before.evacuator ?? form.evacuator, masks: before.masks ?? form.masks };
}

/** Eyewear as the fields of a line hold it, and back. */
export const written = (one: Partial<Eyewear> & { label: string }): Pick<Worn, "label" | "wavelength" | "density" | "eyewear_id"> =>
  ({ label: one.label, wavelength: one.wavelength ?? "", density: one.optical_density ?? "", ...(one.eyewear_id ? { eyewear_id: one.eyewear_id } : {}) });
export const chosenBy = (one: Worn): Eyewear | null =>
  (one.label.trim() ? {
    label: one.label.trim(), wavelength: one.wavelength.trim() || null, optical_density: one.density.trim() || null, ...(one.eyewear_id ? { eyewear_id: one.eyewear_id } : {}),
  } : null);

/** One head more, with a line to say who it is. */
export function withHead(form: ProtectionForm): ProtectionForm {
  return { ...form, heads: Math.max(form.heads, form.worn.length + 1), worn: [...form.worn, { wearer: "", label: "", wavelength: "", density: "", added: true }] };
}

/** Whoever is not in the room has no head in it. */
export function withoutHead(form: ProtectionForm, at: number): ProtectionForm {
  return { ...form, heads: Math.max(1, form.heads === form.worn.length ? form.heads - 1 : form.heads), worn: form.worn.filter((_, i) => i !== at) };
}

export function formOf(said: ProtectionNoted): ProtectionForm {
  return {
    heads: said.heads,
    worn: said.eyewear.map((one) => ({ wearer: one.wearer, ...written(one) })),
    evacuator: said.evacuator ?? "", masks: said.masks ?? "", deviations: said.deviations ?? "",
  };
}

/** A line counts once it says who wears what. */
const whole = (one: Worn): boolean => one.wearer.trim() !== "" && one.label.trim() !== "";
export const wellDensity = (text: string): boolean => text.trim() === "" || readNumber(text).kind === "number";
export const good = (form: ProtectionForm): boolean => form.worn.every((one) => wellDensity(one.density));
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
        ...(one.eyewear_id ? { eyewear_id: one.eyewear_id } : {}),
      };
    }),
    evacuator: text(form.evacuator), masks: text(form.masks), deviations: text(form.deviations),
  };
}

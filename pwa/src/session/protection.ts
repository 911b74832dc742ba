/** How people were protected here before, from the records at hand. Pure. */
import type { ProtectionNoted } from "../events/catalogue";
import type { RecordDocument } from "./record";

export interface Eyewear { label: string; wavelength: string | null; optical_density: string | null; eyewear_id?: string | null }

export interface UsedBefore {
  /** Each once, what was worn last first. */
  eyewear: Eyewear[];
  /** What each wearer had on last. */
  worn_by: ReadonlyMap<string, Eyewear>;
  evacuators: string[];
  masks: string[];
}

/** Further back than this nobody looks for goggles; and a tap must not walk over thousands of records. */
const LOOKED_AT = 500;

export const sameEyewear = (a: Eyewear, b: Eyewear): boolean =>
  a.label === b.label && (a.wavelength ?? "") === (b.wavelength ?? "") && (a.optical_density ?? "") === (b.optical_density ?? "");

/** Of records, the newest first. */
export function usedBefore(records: readonly RecordDocument[]): UsedBefore {
  const eyewear: Eyewear[] = [];
  const worn_by = new Map<string, Eyewear>();
  const evacuators = new Set<string>();
  const masks = new Set<string>();
  for (const said of noted(records)) {
    for (const { wearer, label, wavelength, optical_density, eyewear_id } of said.eyewear) {
      const one = { label, wavelength: wavelength ?? null, optical_density: optical_density ?? null, ...(eyewear_id ? { eyewear_id } : {}) };
      if (!eyewear.some((known) => sameEyewear(known, one))) eyewear.push(one);
      if (!worn_by.has(wearer)) worn_by.set(wearer, one);
    }
    if (said.evacuator) evacuators.add(said.evacuator);
    if (said.masks) masks.add(said.masks);
  }
  return { eyewear, worn_by, evacuators: [...evacuators], masks: [...masks] };
}

/** The same without what should not be worn again. */
export function withoutUnfit(used: UsedBefore, unfit: (one: Eyewear) => boolean): UsedBefore {
  return { ...used, eyewear: used.eyewear.filter((one) => !unfit(one)), worn_by: new Map([...used.worn_by].filter(([, one]) => !unfit(one))) };
}

/** The same with the register's pieces behind what was worn before. */
export function withRegistered(used: UsedBefore, registered: readonly Eyewear[]): UsedBefore {
  const fresh = registered.filter((one) => !used.eyewear.some((known) => known.eyewear_id === one.eyewear_id || sameEyewear(known, one)));
  return fresh.length === 0 ? used : { ...used, eyewear: [...used.eyewear, ...fresh] };
}

function* noted(records: readonly RecordDocument[]): Generator<ProtectionNoted> {
  for (const record of records.slice(0, LOOKED_AT)) if (record.protection && record.status !== "void") yield record.protection;
}

/** The last other record with this laser in which protection was noted. */
export function lastNoted(records: readonly RecordDocument[], of: RecordDocument): RecordDocument | null {
  return records.slice(0, LOOKED_AT).find((one) => one.record_id !== of.record_id && one.protection && one.status !== "void"
    && one.device?.device_id === of.device?.device_id) ?? null;
}

/** What is offered to one wearer: their own first, then what others wore, as many as fit under a thumb. */
export function offered(used: UsedBefore, wearer: string, chosen: Eyewear | null, at_most: number): Eyewear[] {
  const own = used.worn_by.get(wearer);
  const first = own ? [own, ...used.eyewear.filter((one) => !sameEyewear(one, own))] : used.eyewear;
  const shown = first.slice(0, at_most);
  if (!chosen || shown.some((one) => sameEyewear(one, chosen)) || !first.some((one) => sameEyewear(one, chosen))) return shown;
  return [...shown.slice(0, at_most - 1), chosen];
}

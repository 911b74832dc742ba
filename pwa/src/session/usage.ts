/**
 * What was used here before for one kind of procedure, from the records at hand. Pure. Mirror of
 * `api/presets/usage.py`; both are held to `tests/vectors/usage.json`.
 */
import type { RecordDocument, RecordPass } from "./fold";

/** Of the results of a dose, those that are looked back at; with laser-on time they are all. */
export const DOSES = { average_power: "W", irradiance_mean: "W/cm2", fluence_mean: "J/cm2" } as const;
export type DoseName = keyof typeof DOSES;
/** With fewer records the single values say more than a middle between them. */
export const LEAST_RECORDS = 3;

export interface Measure {
  unit: string;
  records: number;
  /** The single values, where there are too few records for a median. */
  values: number[] | null;
  median: number | null;
  low: number;
  high: number;
}

export interface UsageGroup {
  device_id: string;
  device_label: string | null;
  handpiece_id: string;
  handpiece_label: string | null;
  records: number;
  passes: number;
  /** When the first and the last of the passes began. */
  first_at: string;
  last_at: string;
  set: Partial<Record<DoseName, Measure>>;
  delivered: Partial<Record<DoseName, Measure>>;
  laser_on_time: Measure;
}

export interface Usage { procedure_kind_id: string; records: number; groups: UsageGroup[] }

type Value = [record_id: string, value: number];

/** The middle one of the values in order, or the mean of the middle two; throws without any. */
export function median(values: readonly number[]): number {
  if (values.length === 0) throw new RangeError("no median without a value");
  const ordered = [...values].sort((a, b) => a - b);
  const half = Math.floor(ordered.length / 2);
  return ordered.length % 2 ? ordered[half]! : (ordered[half - 1]! + ordered[half]!) / 2;
}

export function usageOf(records: readonly RecordDocument[], procedure_kind_id: string): Usage {
  const groups = new Map<string, { device: Named; tip: Named; passes: { record_id: string; pass: RecordPass }[] }>();
  const counted = new Set<string>();
  for (const record of records) {
    if (record.status !== "signed" && record.status !== "amended") continue;
    if (record.procedure?.procedure_kind_id !== procedure_kind_id || !record.device) continue;
    for (const pass of record.passes) {
      const tip = pass.handpiece ?? record.handpiece;
      if (!(pass.laser_on_s > 0) || !tip) continue;
      const device = { id: record.device.device_id, label: record.device.label };
      const key = JSON.stringify([device.id, tip.handpiece_id]);
      const group = groups.get(key) ?? { device, tip: { id: tip.handpiece_id, label: tip.label }, passes: [] };
      group.passes.push({ record_id: record.record_id, pass });
      groups.set(key, group);
      counted.add(record.record_id);
    }
  }
  const shown = [...groups.values()].map(({ device, tip, passes }): UsageGroup => {
    const on_time = new Map<string, number>();
    for (const { record_id, pass } of passes) on_time.set(record_id, (on_time.get(record_id) ?? 0) + pass.laser_on_s);
    const doses = (side: "set" | "delivered") => Object.fromEntries(Object.entries(DOSES).flatMap(([name, unit]) => {
      const values = passes.flatMap(({ record_id, pass }): Value[] => {
        const value = (pass.dose[side] as Record<string, number> | null | undefined)?.[name];
        return value == null ? [] : [[record_id, value]];
      });
      return values.length > 0 ? [[name, measure(unit, values)]] : [];
    }));
    const began = passes.map(({ pass }) => pass.started_at).sort((a, b) => Date.parse(a) - Date.parse(b));
    return {
      device_id: device.id, device_label: device.label ?? null, handpiece_id: tip.id, handpiece_label: tip.label ?? null,
      records: on_time.size, passes: passes.length, first_at: began[0]!, last_at: began[began.length - 1]!, set: doses("set"), delivered: doses("delivered"),
      laser_on_time: measure("s", [...on_time]),
    };
  });
  shown.sort((a, b) => b.records - a.records || (a.device_id < b.device_id ? -1 : a.device_id > b.device_id ? 1
    : a.handpiece_id < b.handpiece_id ? -1 : a.handpiece_id > b.handpiece_id ? 1 : 0));
  return { procedure_kind_id, records: counted.size, groups: shown };
}

interface Named { id: string; label: string | null | undefined }

function measure(unit: string, values: readonly Value[]): Measure {
  const numbers = values.map(([, value]) => value).sort((a, b) => a - b);
  const records = new Set(values.map(([record_id]) => record_id)).size;
  const few = records < LEAST_RECORDS;
  return {
    unit, records, values: few ? numbers : null, median: few ? null : median(numbers),
    low: numbers[0]!, high: numbers[numbers.length - 1]!,
  };
}

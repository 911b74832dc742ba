/** What a meter of the register says in a form of a power check. */
import type { Typed } from "../../parts/number";
import type { PowerMeter } from "../../session/registers";

export interface MeterFacts { label: string; serial: string; calibrated_on: string; uncertainty: Typed }

export const NO_METER: MeterFacts = { label: "", serial: "", calibrated_on: "", uncertainty: { raw: "", unit: "%" } };

/** What its certificate does not say is asked for: another meter's figure must not stand for it. */
export const meterFacts = (one: PowerMeter): MeterFacts => ({
  label: one.label, serial: one.serial, calibrated_on: one.calibrated_on,
  uncertainty: one.uncertainty ? { raw: String(Number((Number(one.uncertainty) * 100).toPrecision(9))), unit: "%", sure: true } : NO_METER.uncertainty,
});

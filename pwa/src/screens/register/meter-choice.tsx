import { Select, Wrong } from "../../parts/fields";
import type { Typed } from "../../parts/number";
import { dueNow, inUse, meters } from "../../session/registers";
import { t } from "../../text";
import { dueText } from "./due-lines";

interface Picked { label: string; serial: string; calibrated_on: string; uncertainty?: Typed }

/** The meters of the register, to be chosen instead of written; one whose calibration is over says so. */
export function MeterChoice({ label, serial, onPick }: { label: string; serial: string; onPick: (picked: Picked) => void }) {
  const w = t.registers.meters;
  const offered = meters.value.filter(inUse);
  const chosen = offered.find((one) => one.serial === serial.trim() && one.label === label.trim());
  const late = chosen && dueNow(Date.now()).find((row) => row.what === "meter_calibration" && row.subject_id === chosen.meter_id && row.state === "overdue");
  const pick = (id: string) => {
    const one = offered.find(({ meter_id }) => meter_id === id);
    if (!one) return onPick({ label: "", serial: "", calibrated_on: "" });
    onPick({
      label: one.label, serial: one.serial, calibrated_on: one.calibrated_on,
      ...(one.uncertainty ? { uncertainty: { raw: String(Number((Number(one.uncertainty) * 100).toPrecision(9))), unit: "%", sure: true as const } } : {}),
    });
  };
  return (
    <>
      <Select id="meter-known" label={w.choose} value={chosen?.meter_id ?? ""} onChange={pick}
        options={[{ value: "", text: w.other }, ...offered.map((one) => ({ value: one.meter_id, text: `${one.label}, ${one.serial}` }))]} />
      {late ? <Wrong id="meter-overdue">{dueText(late)}. {w.overdue}</Wrong> : null}
    </>
  );
}

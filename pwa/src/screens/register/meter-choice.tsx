import { Select, Wrong } from "../../parts/fields";
import { dueNow, inUse, meters } from "../../session/registers";
import { t } from "../../text";
import { dueText } from "./due-lines";
import { meterFacts, NO_METER, type MeterFacts } from "./meter-facts";

/** The meters of the register, to be chosen instead of written; one whose calibration is over says so. */
export function MeterChoice({ label, serial, onPick }: { label: string; serial: string; onPick: (picked: MeterFacts) => void }) {
  const w = t.registers.meters;
  const offered = meters.value.filter(inUse);
  const chosen = offered.find((one) => one.serial === serial.trim() && one.label === label.trim());
  const late = chosen && dueNow(Date.now()).find((row) => row.what === "meter_calibration" && row.subject_id === chosen.meter_id && row.state === "overdue");
  const pick = (id: string) => {
    const one = offered.find(({ meter_id }) => meter_id === id);
    onPick(one ? meterFacts(one) : NO_METER);
  };
  return (
    <>
      <Select id="meter-known" label={w.choose} value={chosen?.meter_id ?? ""} onChange={pick}
        options={[{ value: "", text: w.other }, ...offered.map((one) => ({ value: one.meter_id, text: `${one.label}, ${one.serial}` }))]} />
      {late ? <Wrong id="meter-overdue">{dueText(late)}. {w.overdue}</Wrong> : null}
    </>
  );
}

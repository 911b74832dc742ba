import { Press } from "../../parts/basics";
import { More } from "../../parts/dose";
import { Choice } from "../../parts/fields";
import { readTyped } from "../../parts/number";
import { QuantityField, type Typed } from "../../parts/quantity";
import type { RecordDocument, RecordPass } from "../../session/fold";
import { writing } from "../../session/state";
import { t } from "../../text";
import { busy } from "../attempt";
import { caseDraft } from "./kept";
import { keepTime } from "./timer";

export interface TimeForm { seconds: Typed; pulses: string; source: string }
const EMPTY: TimeForm = { seconds: { raw: "", unit: "s" }, pulses: "", source: "" };

/** What the form means; null while something in it is missing or not certain. */
export function readTime(form: TimeForm): { seconds: string; pulses: number | null; source: string } | null {
  const read = readTyped(form.seconds);
  const pulses = form.pulses.trim() === "" ? null : Number(form.pulses);
  if (read.kind !== "number" || Number(read.text) <= 0) return null;
  if (pulses !== null && !Number.isSafeInteger(pulses)) return null;
  return { seconds: read.text, pulses, source: form.source || "device counter" };
}

/** Laser-on time from elsewhere: the device's counter, its tone, or an estimate. */
export function OtherTime({ record, pass }: { record: RecordDocument; pass: RecordPass }) {
  const kept = caseDraft<TimeForm>("time", record.record_id, EMPTY);
  const form = kept.value.value;
  const read = readTime(form);
  const add = () => {
    if (read) void keepTime(record, pass.pass_id, read.seconds, read.source, read.pulses).then((done) => { if (done) kept.clear(); });
  };
  return (
    <More id="other-time" title={t.case.elsewhere}>
      <TimeFields form={form} set={kept.set} />
      <Press id="time-add" disabled={!read || busy.value || !writing.value} onPress={add}>{t.case.add}</Press>
    </More>
  );
}

interface FieldsProps {
  form: TimeForm;
  set: (form: TimeForm) => void;
  /** Whether the time is the one that the timer gave. */
  timer?: boolean;
  /** Why the source has to be said anew. */
  wrong?: string | undefined;
}

export function TimeFields({ form, set, timer = false, wrong }: FieldsProps) {
  const sources = [...(timer ? ["timer"] : []), "device counter", "tone", "estimate"];
  return (
    <>
      <Choice id="time-source" across legend={t.case.source} value={wrong ? "" : form.source || "device counter"} wrong={wrong}
        options={sources.map((value) => ({ value, text: t.case.sources[value]! }))}
        onChange={(source) => set({ ...form, source })} />
      <QuantityField id="time-seconds" label={t.case.seconds} typed={form.seconds} units={["s"]} onChange={(seconds) => set({ ...form, seconds })} />
      <div class="field"><label for="time-pulses">{t.case.pulses}</label>
        <input id="time-pulses" data-testid="time-pulses" type="text" inputMode="numeric" autoComplete="off" maxLength={9} value={form.pulses}
          onInput={(e) => set({ ...form, pulses: e.currentTarget.value.replace(/\D/g, "") })} /></div>
    </>
  );
}

import { Mark, Notice, Press } from "../../parts/basics";
import { TextField } from "../../parts/fields";
import { timeText } from "../../parts/dates";
import { noteProtection } from "../../session/commands_case";
import type { RecordDocument } from "../../session/fold";
import { ownRecords, writing } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go } from "../route";
import { offerWithdrawal } from "../undo";
import { caseDraft } from "./kept";
import { firstToday } from "./opening-form";
import { formOf, saidBy, startForm, uncovered, wellDensity, type ProtectionForm, type Worn } from "./protection-form";
import { Back } from "./views";

/** Heads, eyewear, plume and masks, starting from the last case of today on this tablet. */
export function Protection({ record }: { record: RecordDocument }) {
  const last = lastNoted(record);
  const kept = caseDraft<ProtectionForm | null>("protection", record.record_id, null);
  if (!kept.ready.value) return <p role="status">{t.common.loading}</p>;
  const form = kept.value.value ?? (record.protection ? formOf(record.protection) : startForm(record, last));
  const save = () => void attempt(async () => offerWithdrawal(t.course.done.protection, record.record_id, await noteProtection(record, saidBy(form))))
    .then((done) => { if (done) { kept.clear(); go("case", record.record_id); } });
  return (
    <div class="stack">
      <h1>{t.course.protection.title}</h1>
      <p>{t.course.protection.lead}</p>
      {last && !record.protection ? <Notice calm><p class="small">{t.course.protection.kept}</p></Notice> : null}
      <ProtectionFields form={form} set={kept.set} />
      <Press id="protection-save" kind="main" large wide disabled={!good(form) || busy.value || !writing.value} onPress={save}>{t.course.protection.save}</Press>
      <Back record_id={record.record_id} />
    </div>
  );
}

export const good = (form: ProtectionForm): boolean => form.worn.every((one) => wellDensity(one.density));

/** Stands in the case: noted, or still to be noted. */
export function ProtectionMark({ record }: { record: RecordDocument }) {
  return record.protection
    ? <Mark shape="done" id="protection-done">{t.course.protection.done(timeText(record.protection.at))}</Mark>
    : <Mark shape="wait" id="protection-pending">{t.course.protection.pending}</Mark>;
}

/** What was noted for the last case of today with the same laser on this tablet. */
const lastNoted = (record: RecordDocument) => firstToday(ownRecords.value, Date.now(), (r) =>
  r.record_id !== record.record_id && r.protection !== null && r.device?.device_id === record.device?.device_id)?.protection ?? null;

export function ProtectionFields({ form, set }: { form: ProtectionForm; set: (form: ProtectionForm) => void }) {
  const words = t.course.protection;
  const change = (at: number, part: Partial<Worn>) =>
    set({ ...form, worn: form.worn.map((one, i) => (i === at ? { ...one, ...part } : one)) });
  const lacking = uncovered(form);
  return (
    <>
      <div class="row" role="group" aria-label={words.heads}>
        <Press id="heads-minus" label={words.fewer} disabled={form.heads <= 1} onPress={() => set({ ...form, heads: form.heads - 1 })}>−</Press>
        <span class="strong num" data-testid="heads" aria-live="polite">{words.heads}: {form.heads}</span>
        <Press id="heads-plus" label={words.more} disabled={form.heads >= 20} onPress={() => set({ ...form, heads: form.heads + 1 })}>+</Press>
      </div>
      <h2>{words.eyewear}</h2>
      {form.worn.map((one, i) => (
        <div class="sheet worn" key={i} data-testid="worn">
          <TextField id={`worn-wearer-${i}`} label={words.wearer} value={one.wearer} onChange={(wearer) => change(i, { wearer })} max={80} />
          <TextField id={`worn-label-${i}`} label={words.label} hint={i === 0 ? words.labelHint : undefined} value={one.label} onChange={(label) => change(i, { label })} max={80} />
          <TextField id={`worn-wavelength-${i}`} label={words.wavelength} value={one.wavelength} onChange={(wavelength) => change(i, { wavelength })} max={60} />
          <TextField id={`worn-density-${i}`} label={words.density} mode="decimal" value={one.density} onChange={(density) => change(i, { density })} max={10}
            wrong={wellDensity(one.density) ? undefined : words.densityWrong} />
          <Press id={`worn-drop-${i}`} kind="quiet" label={words.drop(one.wearer)} onPress={() => set({ ...form, worn: form.worn.filter((_, at) => at !== i) })}>{words.drop(one.wearer)}</Press>
        </div>
      ))}
      <Press id="worn-add" onPress={() => set({ ...form, worn: [...form.worn, { wearer: "", label: form.worn[0]?.label ?? "", wavelength: form.worn[0]?.wavelength ?? "", density: form.worn[0]?.density ?? "" }] })}>{words.add}</Press>
      {lacking > 0 ? <Notice shape="warn" id="eyewear-missing"><p>{words.missing(lacking)}</p></Notice> : null}
      <TextField id="evacuator" label={words.evacuator} hint={words.evacuatorHint} value={form.evacuator} onChange={(evacuator) => set({ ...form, evacuator })} max={200} spell />
      <TextField id="masks" label={words.masks} value={form.masks} onChange={(masks) => set({ ...form, masks })} max={200} spell />
      <TextField id="deviations" label={words.deviations} hint={words.deviationsHint} value={form.deviations} onChange={(deviations) => set({ ...form, deviations })} max={1000} spell />
    </>
  );
}

import { Mark, Notice, Press } from "../../parts/basics";
import { momentText, timeText } from "../../parts/dates";
import { noteProtection } from "../../session/commands_case";
import type { ProtectionNoted } from "../../events/catalogue";
import type { RecordDocument } from "../../session/fold";
import { lastNoted } from "../../session/protection";
import { eyewear } from "../../session/registers";
import { allRecords, person, writing } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { whyNotAgain } from "../register/worn";
import { go } from "../route";
import { offerWithdrawal } from "../undo";
import { holders } from "./hand-over";
import { caseDraft } from "./kept";
import { firstToday } from "./opening-form";
import { ProtectionFields } from "./protection-fields";
import { asBefore, formOf, good, present, saidBy, startForm, type ProtectionForm } from "./protection-form";
import { Back } from "./views";

/** Heads, eyewear, plume and masks, starting from the last case of today on this tablet. */
export function Protection({ record }: { record: RecordDocument }) {
  const before = lastNoted(allRecords.value, record);
  const today = before && firstToday([before], Date.now(), () => true)?.protection;
  // What has been retired or has failed since is not put on anybody again.
  const fit = (said: ProtectionNoted): ProtectionNoted =>
    ({ ...said, eyewear: said.eyewear.filter((one) => whyNotAgain(one, eyewear.value, record.device?.wavelength ?? null) === null) });
  const kept = caseDraft<ProtectionForm | null>("protection", record.record_id, null);
  if (!kept.ready.value) return <p role="status">{t.common.loading}</p>;
  const wearers = present(record, holders(record, "assistant"), person.value!.person_id);
  const form = kept.value.value ?? (record.protection ? formOf(record.protection) : startForm(wearers, today ? fit(today) : null));
  const save = () => void attempt(async () => offerWithdrawal(t.course.done.protection, record.record_id, await noteProtection(record, saidBy(form))))
    .then((done) => { if (done) { kept.clear(); go("case", record.record_id); } });
  return (
    <div class="stack">
      <h1>{t.course.protection.title}</h1>
      <p>{t.course.protection.lead}</p>
      {record.protection || !before ? null : today ? <Notice calm><p class="small">{t.course.protection.kept}</p></Notice>
        : <Press id="protection-same" large wide onPress={() => kept.set(asBefore(form, fit(before.protection!)))}>{t.course.protection.same(momentText(before.protection!.at))}</Press>}
      <ProtectionFields form={form} set={kept.set} wavelength={record.device?.wavelength} />
      <Press id="protection-save" kind="main" large wide disabled={!good(form) || busy.value || !writing.value} onPress={save}>{t.course.protection.save}</Press>
      <Back record_id={record.record_id} />
    </div>
  );
}

/** Stands in the case: noted, or still to be noted. */
export function ProtectionMark({ record }: { record: RecordDocument }) {
  return record.protection
    ? <Mark shape="done" id="protection-done">{t.course.protection.done(timeText(record.protection.at))}</Mark>
    : <Mark shape="wait" id="protection-pending">{t.course.protection.pending}</Mark>;
}

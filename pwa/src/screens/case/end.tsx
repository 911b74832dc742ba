import { Press } from "../../parts/basics";
import { Tapped } from "../../parts/tapped";
import { endCase } from "../../session/commands";
import type { RecordDocument } from "../../session/fold";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go } from "../route";
import { caseDraft } from "./kept";
import { PassList } from "./pass-list";

export type OutcomeForm = Record<string, string>;
const FIELDS = ["haemostasis", "specimens", "sutures", "complications", "instructions"] as const;

/** The outcome, each line as far as there is something to say. */
export function EndForm({ record, onBack }: { record: RecordDocument; onBack: () => void }) {
  const kept = caseDraft<Record<string, string>>("end", record.record_id, {});
  const form = kept.value.value;
  const end = () => void attempt(() => endCase(record, outcomeOf(form)))
    .then((done) => { if (done) { kept.clear(); go("sign", record.record_id); } });
  return (
    <div class="two">
      <div class="stack">
        <h1>{t.case.endTitle}</h1>
        <OutcomeFields form={form} set={kept.set} />
        <Press id="end-now" kind="main" large wide disabled={busy.value} onPress={end}>{t.case.endNow}</Press>
        <Press id="end-back" kind="quiet" onPress={onBack}>{t.case.goOn}</Press>
      </div>
      <PassList record={record} />
    </div>
  );
}

export function OutcomeFields({ form, set }: { form: OutcomeForm; set: (form: OutcomeForm) => void }) {
  return (
    <>
      {FIELDS.map((name) => (
        <Tapped key={name} id={`outcome-${name}`} label={t.case[name]} value={form[name] ?? ""} known={t.case.usualOutcome[name] ?? []} beside
          onChange={(text) => set({ ...form, [name]: text })} max={1000} />
      ))}
    </>
  );
}

export const outcomeOf = (form: OutcomeForm): Record<(typeof FIELDS)[number], string | null> =>
  Object.fromEntries(FIELDS.map((name) => [name, form[name]?.trim() || null])) as Record<(typeof FIELDS)[number], string | null>;

import { Press } from "../../parts/basics";
import { TextField } from "../../parts/fields";
import { endCase } from "../../session/commands";
import { draft } from "../../session/draft";
import type { RecordDocument } from "../../session/fold";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go } from "../route";
import { PassList } from "./pass-list";

const FIELDS = ["haemostasis", "specimens", "sutures", "complications", "instructions"] as const;

/** The outcome, each line as far as there is something to say. */
export function EndForm({ record, onBack }: { record: RecordDocument; onBack: () => void }) {
  const kept = draft<Record<string, string>>(`end:${record.record_id}`, {});
  const form = kept.value.value;
  const end = () => {
    const outcome = Object.fromEntries(FIELDS.map((name) => [name, form[name]?.trim() || null]));
    void attempt(() => endCase(record, outcome)).then((done) => { if (done) { kept.clear(); go("sign", record.record_id); } });
  };
  return (
    <div class="two">
      <div class="stack">
        <h1>{t.case.endTitle}</h1>
        {FIELDS.map((name) => (
          <TextField key={name} id={`outcome-${name}`} label={t.case[name]} value={form[name] ?? ""} onChange={(text) => kept.set({ ...form, [name]: text })} max={1000} spell />
        ))}
        <Press id="end-now" kind="main" large wide disabled={busy.value} onPress={end}>{t.case.endNow}</Press>
        <Press id="end-back" kind="quiet" onPress={onBack}>{t.case.goOn}</Press>
      </div>
      <PassList record={record} />
    </div>
  );
}

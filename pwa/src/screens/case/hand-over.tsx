import { Press } from "../../parts/basics";
import { Choice, Select, TextField } from "../../parts/fields";
import { handOver, type Role } from "../../session/commands_case";
import type { RecordDocument } from "../../session/fold";
import { house, personName } from "../../session/house";
import { lock, person, writing } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go } from "../route";
import { offerWithdrawal } from "../undo";
import { caseDraft } from "./kept";
import { accepted, againstNow, AgainstOperator, OPERATOR } from "./operator";
import { Back } from "./views";

interface Form { role: Role; from: string; to: string; note: string; reasons: Record<string, string> }

/** Who holds a part now. */
export function holders(record: RecordDocument, role: Role): string[] {
  if (role === "operator") return record.operator_id ? [record.operator_id] : [];
  if (role === "recorder") return person.value ? [person.value.person_id] : [];
  const gone = new Set<string>();
  for (const one of record.handovers) {
    if (one.role !== "assistant") continue;
    gone.add(one.from_id);
    gone.delete(one.to_id);
  }
  return record.assistant_ids.filter((id) => !gone.has(id));
}

/** Who may take a part over. */
function takers(role: Role, from: string) {
  return house.value.people.filter((p) => p.person_id !== from
    && (role === "operator" ? p.roles.includes("clinician") : p.roles.some((one) => one === "clinician" || one === "assistant")));
}

/** From one person to another: two choices and one tap; the next person then signs in with their own PIN. */
export function HandOverForm({ record }: { record: RecordDocument }) {
  const kept = caseDraft<Form>("hand-over", record.record_id, { role: "recorder", from: "", to: "", note: "", reasons: {} });
  const form = kept.value.value;
  const set = (part: Partial<Form>) => kept.set({ ...form, ...part });
  const held = holders(record, form.role);
  const from = held.includes(form.from) ? form.from : held[0] ?? "";
  const able = takers(form.role, from);
  const to = able.some((p) => p.person_id === form.to) ? form.to : able.length === 1 ? able[0]!.person_id : "";
  const words = t.course.handOver;
  const against = form.role === "operator" && to ? againstNow(record, to, Date.now()) : [];
  const why = form.reasons[OPERATOR] ?? "";
  const unsaid = against.length > 0 && !why.trim();
  const note = form.note.trim();
  const give = (andLock: boolean) => void attempt(async () => {
    const event_id = await handOver(record, form.role, from, to, note || null, accepted(to, against, why));
    // Whoever comes next did not do it, and has the entries to put it right.
    if (!andLock) offerWithdrawal(t.course.done.handOver, record.record_id, event_id);
  })
    .then((done) => {
      if (!done) return;
      kept.clear();
      go("case", record.record_id);
      if (andLock) lock();
    });
  const off = !from || !to || unsaid || busy.value || !writing.value;
  return (
    <div class="stack narrow">
      <h1>{words.title}</h1>
      <p>{words.lead}</p>
      <Choice id="hand-over-role" legend={words.role} value={form.role} onChange={(role) => set({ role: role as Role, from: "", to: "" })}
        options={(["recorder", "assistant", "operator"] as const).map((value) => ({ value, text: words.roles[value]!, under: holders(record, value).map((id) => personName(id) ?? "").join(", ") || words.none }))} />
      {held.length > 1 ? <Select id="hand-over-from" label={words.from} value={from} onChange={(id) => set({ from: id })}
        options={held.map((id) => ({ value: id, text: personName(id) ?? t.common.unknownPerson }))} /> : null}
      <Choice id="hand-over-to" legend={words.to} value={to} onChange={(id) => set({ to: id })}
        options={able.map((p) => ({ value: p.person_id, text: p.display_name }))} />
      <AgainstOperator operator_id={to} found={against} reason={why} onReason={(reason) => set({ reasons: { ...form.reasons, [OPERATOR]: reason } })} />
      <TextField id="hand-over-note" label={words.note} value={form.note} onChange={(note) => set({ note })} max={300} spell />
      {form.role === "operator" ? null
        : <Press id="hand-over-lock" kind="main" large wide disabled={off} onPress={() => give(true)}>{words.goAndLock}</Press>}
      <Press id="hand-over-go" kind={form.role === "operator" ? "main" : "plain"} large={form.role === "operator"} wide disabled={off} onPress={() => give(false)}>{words.go}</Press>
      <Back record_id={record.record_id} />
    </div>
  );
}

/** Taking a laser out, saying who holds its key, and the two steps of its release. */
import { useSignal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import type { DeviceTakenOut } from "../../events/catalogue";
import { newId } from "../../events/ids";
import { Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { Choice, TextField } from "../../parts/fields";
import { draft } from "../../session/draft";
import { personName } from "../../session/house";
import { askRelease, confirmRelease, noteKey, releaseNeeds, takeOut } from "../../session/house_service";
import { listFor } from "../../session/house_lists";
import { may } from "../../session/rights";
import type { ServiceState } from "../../session/service-state";
import { person, seat, writing } from "../../session/state";
import { t } from "../../text";
import { begin } from "../../text/begin";
import { attempt, busy } from "../attempt";
import { PinForm } from "../records/pin";

const REASONS = ["suspicion", "damage", "repair", "other"] as const;
interface TakeOut { reason_code: DeviceTakenOut["reason_code"]; reason: string; key: string; id: string }
const NOTHING: TakeOut = { reason_code: "suspicion", reason: "", key: "", id: "" };

export function TakeOutForm({ device_id }: { device_id: string }) {
  const w = t.service.takeOut;
  const kept = draft<TakeOut>(`take-out:${person.value!.person_id}:${device_id}`, NOTHING);
  const asked = useSignal(false);
  const form = kept.value.value;
  const set = (part: Partial<TakeOut>) => kept.set({ ...form, ...part, id: form.id || newId() });
  const send = () => {
    asked.value = true;
    if (!form.reason.trim()) return;
    const said = { reason_code: form.reason_code, reason: form.reason.trim(), key_held_by: form.key.trim() || null };
    void attempt(async () => { await takeOut(device_id, said, form.id); kept.clear(); asked.value = false; });
  };
  return (
    <form class="sheet narrow" data-testid="take-out" onSubmit={(e) => { e.preventDefault(); send(); }}>
      <h2>{w.title}</h2>
      <p class="soft small">{w.lead}</p>
      <Choice id="take-out-why" legend={w.why} across value={form.reason_code} onChange={(code) => set({ reason_code: code as TakeOut["reason_code"] })}
        options={REASONS.map((code) => ({ value: code, text: begin(t.service.reasons[code]!) }))} />
      <p class="soft small" data-testid="take-out-needs">{w.back[form.reason_code]}</p>
      <TextField id="take-out-reason" label={w.what} value={form.reason} onChange={(reason) => set({ reason })} max={500} spell wrong={asked.value && !form.reason.trim() ? w.needed : undefined} />
      <TextField id="take-out-key" label={w.key} value={form.key} onChange={(key) => set({ key })} max={200} />
      <Press id="take-out-go" large wide submit disabled={busy.value || !writing.value} onPress={() => undefined}>{w.go}</Press>
    </form>
  );
}

export function KeyForm({ device_id }: { device_id: string }) {
  const w = t.service.keyForm;
  const text = useSignal("");
  const asked = useSignal(false);
  const send = () => {
    asked.value = true;
    if (!text.value.trim()) return;
    void attempt(async () => { await noteKey(device_id, text.value.trim()); text.value = ""; asked.value = false; });
  };
  return (
    <form class="sheet narrow" data-testid="key-held" onSubmit={(e) => { e.preventDefault(); send(); }}>
      <h2>{w.title}</h2>
      <TextField id="key-held-by" label={w.label} value={text.value} onChange={(v) => { text.value = v; }} max={200} wrong={asked.value && !text.value.trim() ? w.needed : undefined} />
      <Press id="key-held-go" submit disabled={busy.value || !writing.value} onPress={() => undefined}>{w.go}</Press>
    </form>
  );
}

/** First a safety officer asks, on tests passed since; then somebody else confirms. At a tablet each with their PIN. */
export function ReleaseForm({ device_id, state }: { device_id: string; state: ServiceState }) {
  const w = t.service.release;
  const { asked } = state;
  const me = person.value!.person_id;
  const { missing, there } = releaseNeeds(device_id);
  const whole = asked !== null && state.causes.every(({ event_id }) => asked.causes.includes(event_id));
  return (
    <section class="stack" data-testid="release">
      <h2>{w.title}</h2>
      <p class="soft small">{w.lead}</p>
      {missing.map((need) => <Mark key={need} shape="wait" id={`release-missing-${need}`}>{w.missing[need]}</Mark>)}
      {missing.includes("after_move") && listFor("after_move", Date.now()) === null ? <p class="small soft" data-testid="release-unwritten">{w.unwritten}</p> : null}
      {missing.length === 0 ? <Mark shape="done" id="release-ready">{w.ready}</Mark>
        : there.map((need) => <Mark key={need} shape="done" id={`release-there-${need}`}>{w.there[need]}</Mark>)}
      {asked ? (
        <>
          <Notice calm id="release-asked"><p>{w.asked(personName(asked.by) ?? t.common.unknownPerson, momentText(asked.at), asked.done)}</p></Notice>
          {asked.by === me || !may("verification.write") ? <Mark shape="wait" id="release-another">{w.another}</Mark>
            : <Step id="release-confirm" go={w.confirm} label={w.note} needed={null} onSay={(note) => confirmRelease(device_id, asked, note || null)}><p>{w.confirmLead}</p></Step>}
        </>
      ) : null}
      {missing.length === 0 && !whole ? (may("device.release")
        ? <Step id="release-ask" go={w.ask} label={w.done} needed={w.needed} onSay={(done) => askRelease(device_id, done)} />
        : <Mark shape="wait" id="release-officer">{w.officerOnly}</Mark>) : null}
    </section>
  );
}

/** One of the two: at a tablet with the PIN, at a desk within the session. */
function Step({ id, go, label, needed, onSay, children }: {
  id: string; go: string; label: string; needed: string | null; onSay: (text: string) => Promise<void>; children?: ComponentChildren;
}) {
  const text = useSignal("");
  const asked = useSignal(false);
  const lacks = needed !== null && !text.value.trim();
  const field = (
    <>
      {children}
      <TextField id={`${id}-text`} label={label} value={text.value} onChange={(v) => { text.value = v; }} max={500} spell wrong={asked.value && lacks ? needed! : undefined} />
    </>
  );
  const say = async () => { await onSay(text.value.trim()); text.value = ""; };
  if (seat.value !== "desk") {
    return <PinForm id={id} label={t.service.override.pin} go={go} waiting={t.common.saved.saving} disabled={lacks} onPin={say}>{field}</PinForm>;
  }
  return (
    <form class="sheet narrow" data-testid={`${id}-form`} onSubmit={(e) => { e.preventDefault(); asked.value = true; if (!lacks) void attempt(say); }}>
      {field}
      <Press id={`${id}-go`} kind="main" large wide submit disabled={busy.value || !writing.value} onPress={() => undefined}>{go}</Press>
    </form>
  );
}

import { useSignal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { useEffect } from "preact/hooks";
import { Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { TextField } from "../../parts/fields";
import { moveRecord, samePatient, voidRecord } from "../../session/commands_record";
import { draft } from "../../session/draft";
import { namesPatient } from "../../session/finding";
import type { RecordDocument } from "../../session/fold";
import { may } from "../../session/rights";
import { allRecords, person } from "../../session/state";
import { t } from "../../text";
import { go } from "../route";
import { SavedMark } from "../saved";
import { nameOf } from "./names";
import { PinForm } from "./pin";
import { Facts } from "./read-back";

interface MoveForm { chart_number: string; second_identifier: string; reason: string }
const EMPTY: MoveForm = { chart_number: "", second_identifier: "", reason: "" };

/** Wrong patient: first both identifiers and the reason, then what will move, and the PIN. */
export function MoveRecord({ record_id }: { record_id: string }) {
  const record = allRecords.value.find((r) => r.record_id === record_id);
  const kept = draft<MoveForm>(`move:${person.value!.person_id}:${record_id}`, EMPTY);
  const asked = useSignal(false);
  const sure = useSignal(false);
  const done = useSignal(false);
  if (!record || !may("record.sign")) return <NotHere record_id={record_id} title={t.moving.moveTitle} />;
  const form = kept.value.value;
  const to = { chart_number: form.chart_number.trim(), second_identifier: form.second_identifier.trim() };
  const wrong = wrongIn(record, to, form.reason);
  const set = (next: Partial<MoveForm>) => kept.set({ ...form, ...next });
  if (done.value) return <Finished record_id={record_id} title={t.moving.moveTitle} text={t.moving.movedDone} />;
  if (!sure.value) {
    const show = (name: keyof MoveForm) => (asked.value ? wrong[name] : undefined);
    return (
      <Step record={record} title={t.moving.moveTitle} n={1} lead={t.moving.moveLead}>
        <form class="sheet narrow" onSubmit={(e) => { e.preventDefault(); asked.value = true; sure.value = Object.keys(wrong).length === 0; }}>
          <TextField id="move-chart" label={t.moving.toChart} value={form.chart_number} onChange={(v) => set({ chart_number: v })} wrong={show("chart_number")} max={64} />
          <TextField id="move-second" label={t.moving.toSecond} value={form.second_identifier} onChange={(v) => set({ second_identifier: v })} wrong={show("second_identifier")} max={64} />
          <TextField id="move-reason" label={t.moving.reason} hint={t.moving.reasonHint} value={form.reason} onChange={(v) => set({ reason: v })} wrong={show("reason")} max={500} spell />
          <Press id="move-next" kind="main" large wide submit onPress={() => undefined}>{t.moving.next}</Press>
        </form>
      </Step>
    );
  }
  return (
    <Step record={record} title={t.moving.moveTitle} n={2}>
      <div class="two">
        <section class="sheet" data-testid="move-what">
          <h2>{t.moving.willMove}</h2>
          <Facts rows={[[t.moving.from, both(record.patient)], [t.moving.to, both(to)], [t.moving.reason, form.reason.trim()]]} />
          <What record={record} />
          <Press id="move-back" onPress={() => { sure.value = false; }}>{t.moving.back}</Press>
        </section>
        <PinForm id="move" label={t.moving.pin} go={t.moving.goMove} waiting={t.common.saved.saving}
          onPin={async () => { await moveRecord(record, to, form.reason.trim()); kept.clear(); done.value = true; }} />
      </div>
    </Step>
  );
}

function wrongIn(record: RecordDocument, to: { chart_number: string; second_identifier: string }, reason: string): Partial<Record<keyof MoveForm, string>> {
  const wrong: Partial<Record<keyof MoveForm, string>> = {};
  if (!to.chart_number) wrong.chart_number = t.moving.needed;
  if (!to.second_identifier) wrong.second_identifier = t.moving.needed;
  if (!reason.trim()) wrong.reason = t.moving.needed;
  if (record.patient && samePatient(record.patient, to)) wrong.chart_number = t.moving.same;
  // The reason stays under the old number, where the right patient must not be named.
  if (namesPatient(reason, to)) wrong.reason = t.moving.reasonNames;
  return wrong;
}

/** Void: first the reason, then what will be void, and the PIN. */
export function VoidRecord({ record_id }: { record_id: string }) {
  const record = allRecords.value.find((r) => r.record_id === record_id);
  const kept = draft(`void:${person.value!.person_id}:${record_id}`, { reason: "" });
  const asked = useSignal(false);
  const sure = useSignal(false);
  const done = useSignal(false);
  if (!record || !may("record.void")) return <NotHere record_id={record_id} title={t.moving.voidTitle} />;
  const reason = kept.value.value.reason;
  if (done.value) return <Finished record_id={record_id} title={t.moving.voidTitle} text={t.moving.voidDone} />;
  if (!sure.value) {
    return (
      <Step record={record} title={t.moving.voidTitle} n={1} lead={t.moving.voidLead}>
        <form class="sheet narrow" onSubmit={(e) => { e.preventDefault(); asked.value = true; sure.value = reason.trim() !== ""; }}>
          <TextField id="void-reason" label={t.moving.reason} value={reason} onChange={(v) => kept.set({ reason: v })} wrong={asked.value && !reason.trim() ? t.moving.needed : undefined} max={500} spell />
          <Press id="void-next" kind="main" large wide submit onPress={() => undefined}>{t.moving.next}</Press>
        </form>
      </Step>
    );
  }
  return (
    <Step record={record} title={t.moving.voidTitle} n={2}>
      <div class="two">
        <section class="sheet" data-testid="void-what">
          <h2>{t.moving.willVoid}</h2>
          <Facts rows={[[t.records.patient, both(record.patient)], [t.moving.reason, reason.trim()]]} />
          <What record={record} />
          <Press id="void-back" onPress={() => { sure.value = false; }}>{t.moving.back}</Press>
        </section>
        <PinForm id="void" label={t.moving.pin} go={t.moving.goVoid} waiting={t.common.saved.saving}
          onPin={async () => { await voidRecord(record, reason.trim()); kept.clear(); done.value = true; }} />
      </div>
    </Step>
  );
}

const both = (patient: { chart_number: string; second_identifier: string } | null) =>
  patient ? `${patient.chart_number} ${patient.second_identifier}` : null;

function What({ record }: { record: RecordDocument }) {
  const { sign_off, addenda, chart } = record;
  const lines = [
    `${record.procedure?.text ?? ""}, ${record.site ?? ""}, ${momentText(record.started_at)}`,
    t.moving.what(record.passes.length, record.attachments.length, record.notes.length),
    sign_off ? t.moving.signed(nameOf(record, sign_off.signer_id), momentText(sign_off.at)) : t.moving.unsigned,
    addenda.length > 0 ? t.moving.addenda(addenda.length) : null,
    chart ? t.moving.paper : t.moving.noPaper,
  ];
  return <ul class="stack">{lines.filter(Boolean).map((line) => <li key={line}>{line}</li>)}</ul>;
}

function Step({ record, title, n, lead, children }: { record: RecordDocument; title: string; n: number; lead?: string; children: ComponentChildren }) {
  useEffect(() => { window.scrollTo(0, 0); }, [n]);
  return (
    <div class="page">
      <div class="row spread"><h1>{title}</h1><SavedMark record_id={record.record_id} /></div>
      <p class="patient"><span class="small soft">{t.moving.step(n)}. {t.moving.isNow}</span><br /><span class="setting" data-testid="move-patient">{both(record.patient)}</span></p>
      {lead ? <p>{lead}</p> : null}
      {children}
      <Press id="move-leave" onPress={() => go("records", record.record_id)}>{t.common.cancel}</Press>
    </div>
  );
}

function Finished({ record_id, title, text }: { record_id: string; title: string; text: string }) {
  return (
    <div class="page">
      <div class="row spread"><h1>{title}</h1><SavedMark record_id={record_id} /></div>
      <Notice shape="done" id="moving-done" live><p>{text}</p><Press id="moving-go" kind="main" onPress={() => go("records", record_id)}>{t.common.close}</Press></Notice>
    </div>
  );
}

function NotHere({ record_id, title }: { record_id: string; title: string }) {
  return <div class="page"><h1>{title}</h1><Notice shape="lock"><p>{t.moving.notClinician}</p></Notice><Press id="move-leave" onPress={() => go("records", record_id)}>{t.common.close}</Press></div>;
}

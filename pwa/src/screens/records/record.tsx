import { useSignal } from "@preact/signals";
import { Mark, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { More } from "../../parts/dose";
import { TextField } from "../../parts/fields";
import { addAddendum } from "../../session/commands";
import { draft } from "../../session/draft";
import type { RecordDocument } from "../../session/fold";
import { allRecords, person, writing } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go } from "../route";
import { SavedMark } from "../saved";
import { STATUS_SHAPE } from "./list";
import { nameOf, ReadBack } from "./read-back";

export function RecordScreen({ record_id }: { record_id: string }) {
  const record = allRecords.value.find((r) => r.record_id === record_id);
  if (!record) return <div class="page"><p role="status">{t.records.noMatch}</p></div>;
  const signed = record.status === "signed" || record.status === "amended";
  return (
    <div class="page">
      <div class="row spread">
        <h1><Mark shape={STATUS_SHAPE[record.status] ?? "note"} id="record-status">{t.records.status[record.status]}</Mark></h1>
        <SavedMark record_id={record_id} />
      </div>
      <RecordView record={record} />
      {record.status === "draft" ? <Press id="record-go-on" kind="main" large wide onPress={() => go("case", record_id)}>{t.records.goOn}</Press> : null}
      {record.status === "ended" ? <Press id="record-sign" kind="main" large wide onPress={() => go("sign", record_id)}>{t.records.sign}</Press> : null}
      {signed ? <Addendum record={record} /> : null}
    </div>
  );
}

/** The record read-only: what it says, its signature, its addenda, its history in plain words. */
export function RecordView({ record }: { record: RecordDocument }) {
  const sign = record.sign_off;
  return (
    <>
      <ReadBack record={record} />
      {sign ? (
        <section class="sheet" data-testid="signature">
          <p><strong>{t.records.fact.signed}</strong>: {nameOf(record, sign.signer_id)} ({sign.role}), {momentText(sign.at)}</p>
          <p class="small pre">{sign.statement}</p>
          <p class="small soft pre">{t.records.fact.hash}: {sign.content_hash}</p>
          <p class="small" data-testid="chart-state">{record.chart ? `${t.records.inChart}: ${t.desk.hows[record.chart.how] ?? record.chart.how}, ${momentText(record.chart.at)}, ${nameOf(record, record.chart.by)}` : t.records.notInChart}</p>
        </section>
      ) : null}
      {record.addenda.length > 0 ? (
        <section class="stack" data-testid="addenda"><h2>{t.records.addenda}</h2>{record.addenda.map((a) => (
          <div class="sheet" key={a.event_id}><p class="pre">{a.text}</p><p class="small soft">{a.reason}. {momentText(a.at)}, {nameOf(record, a.by)}</p></div>))}</section>
      ) : null}
      <More id="history" title={t.records.history}>
        <ol class="list">{record.history.map((h) => (
          <li class="item" key={h.event_id} data-testid="history-line"><span class="grow">
            <span>{t.records.types[h.type] ?? h.type}{h.effective ? "" : ` (${t.records.takenBack})`}</span>
            <span class="small soft">{momentText(h.at)}{h.by ? ` ${t.records.by(nameOf(record, h.by))}` : ""}{h.corrects && h.type !== "entry.withdrawn" ? `, ${t.records.correctedEntry}` : ""}</span>
          </span></li>))}</ol>
      </More>
    </>
  );
}

function Addendum({ record }: { record: RecordDocument }) {
  const kept = draft(`addendum:${person.value!.person_id}:${record.record_id}`, { text: "", reason: "" });
  const saved = useSignal(false);
  const form = kept.value.value;
  const add = () => void attempt(() => addAddendum(record, form.text.trim(), form.reason.trim())).then((done) => { if (done) { kept.clear(); saved.value = true; } });
  return (
    <section class="sheet" aria-label={t.records.addendum}>
      <h2>{t.records.addendum}</h2>
      <p class="small soft">{t.records.addendumNote}</p>
      <TextField id="addendum-text" label={t.records.addendumText} long value={form.text} onChange={(text) => kept.set({ ...form, text })} spell max={4000} />
      <TextField id="addendum-reason" label={t.records.addendumReason} value={form.reason} onChange={(reason) => kept.set({ ...form, reason })} spell max={500} />
      <p role="status" class="small" data-testid="addendum-saved">{saved.value ? t.records.addendumSaved : ""}</p>
      <Press id="addendum-save" disabled={!form.text.trim() || !form.reason.trim() || busy.value || !writing.value} onPress={add}>{t.records.addendumSave}</Press>
    </section>
  );
}

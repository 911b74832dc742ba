import { useSignal } from "@preact/signals";
import { Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { More } from "../../parts/dose";
import { TextField } from "../../parts/fields";
import { addAddendum } from "../../session/commands_record";
import { draft } from "../../session/draft";
import { waitsForChart } from "../../session/finding";
import type { RecordDocument } from "../../session/fold";
import { may } from "../../session/rights";
import { allRecords, person, writing } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go } from "../route";
import { SavedMark } from "../saved";
import { ErasedNotice } from "../erasure/notice";
import { History } from "./history";
import { STATUS_SHAPE } from "./list";
import { nameOf } from "./names";
import { ReadBack } from "./read-back";

export function RecordScreen({ record_id }: { record_id: string }) {
  const record = allRecords.value.find((r) => r.record_id === record_id);
  if (!record) return <div class="page"><h1>{t.records.title}</h1><p role="status">{t.records.noMatch}</p></div>;
  return (
    <div class="page">
      <div class="row spread">
        <h1><Mark shape={STATUS_SHAPE[record.status] ?? "note"} id="record-status">{t.records.status[record.status]}</Mark></h1>
        <SavedMark record_id={record_id} />
      </div>
      <RecordView record={record} />
      {record.status === "draft" ? <Press id="record-go-on" kind="main" large wide onPress={() => go("case", record_id)}>{t.records.goOn}</Press> : null}
      {record.status === "ended" ? <Press id="record-sign" kind="main" large wide onPress={() => go("sign", record_id)}>{t.records.sign}</Press> : null}
      {record.sign_off && !record.voided && may("record.sign") ? <Addendum record={record} /> : null}
      {record.sign_off ? <Press id="record-proof" kind="quiet" onPress={() => go("records", record_id, "proof")}>{t.proof.title}</Press> : null}
      {record.voided || record.status === "erased" || !may("record.sign") ? null : (
        <More id="wrong" title={t.moving.open}>
          <div class="row">
            <Press id="record-move" onPress={() => go("records", record_id, "move")}>{t.moving.move}</Press>
            <Press id="record-void" onPress={() => go("records", record_id, "void")}>{t.moving.void}</Press>
          </div>
        </More>
      )}
    </div>
  );
}

/** The record read-only: what it says, its signature, its later versions, its history in plain words. */
export function RecordView({ record }: { record: RecordDocument }) {
  return (
    <>
      <ErasedNotice record={record} />
      <Departures record={record} />
      {record.status === "erased" ? null : <ReadBack record={record} />}
      <Signature record={record} />
      {record.addenda.length > 0 ? (
        <section class="stack" data-testid="addenda"><h2>{t.records.addenda}</h2>{record.addenda.map((a) => (
          <div class="sheet" key={a.event_id}><p class="pre">{a.text}</p><p class="small soft">{a.reason}. {momentText(a.at)}, {nameOf(record, a.by)}</p></div>))}</section>
      ) : null}
      <History record={record} />
    </>
  );
}

/** That a record is void, or was moved here. */
export function Departures({ record }: { record: RecordDocument }) {
  const { voided, reattributions } = record;
  return (
    <>
      {voided ? <Notice shape="stop" id="record-void-notice"><p class="strong">{t.moving.voidedNow(nameOf(record, voided.by), momentText(voided.at), voided.reason)}</p></Notice> : null}
      {reattributions.map((one) => (
        <Notice key={one.event_id} calm id="record-moved-notice">
          <p>{t.moving.movedNow(nameOf(record, one.by), momentText(one.at), one.reason ?? t.moving.reasonHidden)}</p>
          {/* The old number is another patient's: only for who signs, or works at the charts. */}
          {one.from && (may("record.sign") || may("record.place")) ? <p class="small">{t.moving.movedFrom(`${one.from.chart_number} ${one.from.second_identifier}`)}</p> : null}
        </Notice>
      ))}
    </>
  );
}

function Signature({ record }: { record: RecordDocument }) {
  const sign = record.sign_off;
  if (!sign) return null;
  const roles = t.history.roles as Record<string, string>;
  return (
    <section class="sheet" data-testid="signature">
      <p><strong>{t.records.fact.signed}</strong>: {nameOf(record, sign.signer_id)} ({roles[sign.role] ?? sign.role}), {momentText(sign.at)}</p>
      <p class="small pre">{sign.statement}</p>
      <p class="small soft pre">{t.records.fact.hash}: {sign.content_hash}</p>
      <p class="small" data-testid="chart-state">{chartText(record)}</p>
    </section>
  );
}

function chartText(record: RecordDocument): string {
  const { chart } = record;
  if (!chart) return t.records.notInChart;
  const where = `${t.records.inChart}: ${t.desk.hows[chart.how] ?? chart.how}, ${momentText(chart.at)}, ${nameOf(record, chart.by)}`;
  return waitsForChart(record) ? `${where}. ${t.finding.newVersion(record.version)}.` : where;
}

function Addendum({ record }: { record: RecordDocument }) {
  const kept = draft(`addendum:${person.value!.person_id}:${record.record_id}`, { text: "", reason: "" });
  const saved = useSignal(false);
  const form = kept.value.value;
  const add = () => void attempt(() => addAddendum(record, form.text.trim(), form.reason.trim())).then((done) => { if (done) { kept.clear(); saved.value = true; } });
  const set = (next: typeof form) => { saved.value = false; kept.set(next); };
  return (
    <section class="sheet" aria-label={t.records.addendum}>
      <h2>{t.records.addendum}</h2>
      <p class="small soft">{t.records.addendumNote}</p>
      <TextField id="addendum-text" label={t.records.addendumText} long value={form.text} onChange={(text) => set({ ...form, text })} spell max={4000} />
      <TextField id="addendum-reason" label={t.records.addendumReason} value={form.reason} onChange={(reason) => set({ ...form, reason })} spell max={500} />
      <p role="status" class="small" data-testid="addendum-saved">{saved.value ? t.records.addendumSaved : ""}</p>
      <Press id="addendum-save" disabled={!form.text.trim() || !form.reason.trim() || busy.value || !writing.value} onPress={add}>{t.records.addendumSave}</Press>
    </section>
  );
}

import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Glyph, Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { TextField } from "../../parts/fields";
import type { RecordDocument } from "../../session/fold";
import { deskRecord, deskRecords, type RecordSummary } from "../../sync/desk";
import { t } from "../../text";
import { STATUS_SHAPE } from "../records/list";
import { RecordView } from "../records/record";
import { href } from "../route";
import { deskWords, openPdf } from "./queue";

export function DeskRecords() {
  const asked = useSignal("");
  const rows = useSignal<RecordSummary[] | null>(null);
  const wrong = useSignal<string | null>(null);
  const load = async () => {
    wrong.value = null;
    try {
      rows.value = await deskRecords({ q: asked.value.trim() });
    } catch (error) {
      wrong.value = deskWords(error);
      rows.value = [];
    }
  };
  useEffect(() => { void load(); }, []);
  return (
    <div class="page">
      <h1>{t.desk.records}</h1>
      <p class="soft small">{t.desk.readOnly}</p>
      <form class="stack" onSubmit={(e) => { e.preventDefault(); void load(); }}>
        <TextField id="desk-search" kind="search" label={t.records.search} value={asked.value} onChange={(v) => { asked.value = v; }} />
        <Press id="desk-search-go" submit onPress={() => undefined}>{t.desk.search}</Press>
      </form>
      {wrong.value ? <Notice shape="warn" live><p>{wrong.value}</p></Notice> : null}
      {rows.value === null ? <p role="status">{t.common.loading}</p> : rows.value.length === 0 ? <p role="status">{t.desk.noRecords}</p> : (
        <ul class="list" data-testid="records">{rows.value.map((row) => (
          <li key={row.record_id}><a class="item" href={href("records", row.record_id)} data-testid="record">
            <span class="grow"><span class="strong">{row.chart_number} {row.second_identifier}</span>
              <span class="small">{row.procedure_text}, {row.site}</span>
              <span class="small soft">{momentText(row.started_at)}, {row.operator_name}</span>
              <Mark shape={STATUS_SHAPE[row.status] ?? "note"}>{t.records.status[row.status] ?? row.status}</Mark></span>
            <Glyph shape="turn" /></a></li>))}</ul>
      )}
    </div>
  );
}

export function DeskRecord({ record_id }: { record_id: string }) {
  const record = useSignal<RecordDocument | null>(null);
  const wrong = useSignal<string | null>(null);
  useEffect(() => {
    record.value = null;
    deskRecord(record_id).then((doc) => { record.value = doc as RecordDocument; }, (error: unknown) => { wrong.value = deskWords(error); });
  }, [record_id]);
  const doc = record.value;
  return (
    <div class="page">
      {wrong.value ? <Notice shape="warn" live><p>{wrong.value}</p></Notice> : null}
      {doc ? (
        <>
          <div class="row spread"><h1><Mark shape={STATUS_SHAPE[doc.status] ?? "note"} id="record-status">{t.records.status[doc.status]}</Mark></h1>
            {doc.sign_off ? <Press id="desk-record-pdf" onPress={() => void openPdf(record_id).catch((error: unknown) => { wrong.value = deskWords(error); })}>{t.desk.openPdf}</Press> : null}</div>
          <RecordView record={doc} />
        </>
      ) : <p role="status">{t.common.loading}</p>}
    </div>
  );
}

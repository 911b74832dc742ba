import { useSignal } from "@preact/signals";
import { Glyph, Mark, Notice, type Shape } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { TextField } from "../../parts/fields";
import type { RecordDocument } from "../../session/fold";
import { allRecords, captureOnly, ownRecords, status } from "../../session/state";
import { t } from "../../text";
import { href } from "../route";

export const STATUS_SHAPE: Record<string, Shape> = { draft: "wait", ended: "warn", signed: "done", amended: "note" };

export function RecordList() {
  const asked = useSignal("");
  const words = asked.value.toLowerCase().split(/\s+/).filter(Boolean);
  const source = captureOnly.value ? ownRecords.value.filter((r) => r.status === "draft" || r.status === "ended") : allRecords.value;
  const found = source.filter((r) => {
    const text = [r.patient?.chart_number, r.patient?.second_identifier, r.procedure?.text, r.site].join(" ").toLowerCase();
    return words.every((w) => text.includes(w));
  });
  return (
    <div class="page">
      <h1>{t.records.title}</h1>
      <TextField id="record-search" kind="search" label={t.records.search} value={asked.value} onChange={(v) => { asked.value = v; }} />
      {status.value.online ? null : <Notice calm><p class="small">{t.records.offlinePast}</p></Notice>}
      {found.length === 0 ? <p role="status" class="soft" data-testid="records-none">{source.length === 0 ? t.records.none : t.records.noMatch}</p> : null}
      <ul class="list" data-testid="records">{found.map((r) => <Row key={r.record_id} record={r} />)}</ul>
    </div>
  );
}

function Row({ record }: { record: RecordDocument }) {
  const signed = record.status === "signed" || record.status === "amended";
  return (
    <li>
      <a class="item" href={href("records", record.record_id)} data-testid="record">
        <span class="grow">
          <span class="strong">{record.patient?.chart_number} {record.patient?.second_identifier}</span>
          <span class="small">{record.procedure?.text}, {record.site}</span>
          <span class="small soft">{momentText(record.started_at)}</span>
          <span class="row"><Mark shape={STATUS_SHAPE[record.status] ?? "note"}>{t.records.status[record.status]}</Mark>
            {signed ? <span class="small soft">{record.chart ? t.records.inChart : t.records.notInChart}</span> : null}</span>
        </span>
        <Glyph shape="turn" />
      </a>
    </li>
  );
}

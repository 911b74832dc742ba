import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { chartQueue, placeInChart, recordPdf, recordText, type RecordSummary } from "../../sync/desk";
import { t } from "../../text";
import { href } from "../route";

type How = "pdf" | "text" | "other";

/** Signed records not yet in the chart, oldest first; one press for each thing to do. */
export function Queue() {
  const rows = useSignal<RecordSummary[] | null>(null);
  const said = useSignal<string | null>(null);
  const load = async () => {
    try {
      rows.value = await chartQueue();
    } catch (error) {
      rows.value ??= [];
      said.value = deskWords(error);
    }
  };
  useEffect(() => { void load(); }, []);
  const placed = (how: How) => { said.value = t.desk.placed(t.desk.hows[how] ?? how); void load(); };
  return (
    <div class="page">
      <div class="row spread"><h1>{t.desk.title}</h1><Press id="queue-refresh" onPress={() => void load()}>{t.desk.refresh}</Press></div>
      <p><strong role="status" data-testid="queue-count">{rows.value && rows.value.length > 0 ? t.desk.count(rows.value.length) : ""}</strong> <span class="soft">{t.desk.lead}</span></p>
      <div role="status" aria-live="polite">{said.value ? <Notice calm id="queue-said"><p>{said.value}</p></Notice> : null}</div>
      {rows.value === null ? <p role="status">{t.common.loading}</p> : rows.value.length === 0 ? <p data-testid="queue-empty">{t.desk.empty}</p> : (
        <ul class="list" data-testid="queue">{rows.value.map((row) => <Row key={row.record_id} row={row} onPlaced={placed} />)}</ul>
      )}
    </div>
  );
}

/** A refusal or a failure at the desk, in words. */
export function deskWords(error: unknown): string {
  const { code, status, message } = error as { code?: string; status?: number; message?: string };
  if (code === "not_rendered_yet") return t.desk.notRendered;
  if (status === 403) return t.desk.notAllowed;
  return t.desk.failed(message ?? String(error));
}

function Row({ row, onPlaced }: { row: RecordSummary; onPlaced: (how: How) => void }) {
  const said = useSignal<string | null>(null);
  const text = useSignal<string | null>(null);
  const how = useSignal<How>("pdf");
  const busy = useSignal(false);
  const whose = `${row.chart_number} ${row.second_identifier}`;
  const run = async (work: () => Promise<void>) => {
    if (busy.value) return;
    busy.value = true;
    said.value = null;
    try { await work(); } catch (error) { said.value = deskWords(error); } finally { busy.value = false; }
  };
  const pdf = () => void run(async () => { await openPdf(row.record_id); how.value = "pdf"; });
  const copy = () => void run(async () => {
    const answer = await recordText(row.record_id);
    how.value = "text";
    try {
      await navigator.clipboard.writeText(answer.text);
      said.value = t.desk.copied;
    } catch {
      text.value = answer.text;
      said.value = t.desk.copyFailed;
    }
  });
  const place = () => void run(async () => { await placeInChart(row.record_id, how.value); onPlaced(how.value); });
  return (
    <li class="sheet" data-testid="queue-row">
      <div class="row spread base">
        <a href={href("records", row.record_id)} class="strong" data-testid="queue-open">{whose}</a>
        <span class="small soft">{t.desk.waiting(momentText(row.waiting_since ?? row.signed_at))}</span>
      </div>
      <p>{row.procedure_text}, {row.site}</p>
      <p class="small soft">{row.operator_name} · {row.device_label} · {momentText(row.started_at)}</p>
      <div class="row">
        <Press id="queue-pdf" label={t.desk.forRow(t.desk.openPdf, whose)} onPress={pdf} disabled={busy.value}>{t.desk.openPdf}</Press>
        <Press id="queue-copy" label={t.desk.forRow(t.desk.copyText, whose)} onPress={copy} disabled={busy.value}>{t.desk.copyText}</Press>
        <label class="field"><span class="label hidden-text">{t.desk.forRow(t.desk.how, whose)}</span>
          <select data-testid="queue-how" value={how.value} onChange={(e) => { how.value = e.currentTarget.value as How; }}>
            {Object.entries(t.desk.hows).map(([value, words]) => <option key={value} value={value}>{words}</option>)}
          </select></label>
        <Press id="queue-place" kind="main" label={t.desk.forRow(t.desk.place, whose)} onPress={place} disabled={busy.value}>{t.desk.place}</Press>
      </div>
      <p role="status" class="small" data-testid="queue-row-said">{said.value ?? ""}</p>
      {text.value ? <label class="field"><span class="label">{t.desk.textTitle}</span><textarea readOnly rows={10} data-testid="queue-text" value={text.value} /></label> : null}
    </li>
  );
}

/** Open the stored PDF in a tab of its own. */
export async function openPdf(record_id: string): Promise<void> {
  const blob = await recordPdf(record_id);
  const url = URL.createObjectURL(new Blob([blob], { type: "application/pdf" }));
  const link = document.createElement("a");
  link.href = url;
  link.target = "_blank";
  link.rel = "noopener";
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

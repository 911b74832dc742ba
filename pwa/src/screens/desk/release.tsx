import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Notice, Press } from "../../parts/basics";
import { dateText } from "../../parts/dates";
import { TextField, Tick } from "../../parts/fields";
import type { RecordDocument } from "../../session/fold";
import { may } from "../../session/rights";
import { deskRecord, deskRecords, releaseRecords, type RecordSummary } from "../../sync/desk";
import { t } from "../../text";
import { go } from "../route";
import { deskWords, openPdf, savePdf } from "./papers";

/** Copies for somebody: which records of one patient, to whom and why; then the papers as they were signed. */
export function Release({ record_id }: { record_id: string }) {
  const rows = useSignal<RecordSummary[] | null>(null);
  const chosen = useSignal<ReadonlySet<string>>(new Set([record_id]));
  const to = useSignal("");
  const reason = useSignal("");
  const asked = useSignal(false);
  const wrong = useSignal<string | null>(null);
  const busy = useSignal(false);
  const given = useSignal<RecordSummary[] | null>(null);
  useEffect(() => { ofSamePatient(record_id).then((found) => { rows.value = found; }, (error: unknown) => { wrong.value = deskWords(error); }); }, [record_id]);
  if (!may("record.release")) return <div class="page"><h1>{t.desk.releaseTitle}</h1><Notice shape="lock"><p>{t.desk.notAllowed}</p></Notice></div>;
  const complete = chosen.value.size > 0 && to.value.trim() !== "" && reason.value.trim() !== "";
  const send = async () => {
    asked.value = true;
    if (!complete || busy.value) return;
    busy.value = true;
    wrong.value = null;
    try {
      const released = await releaseRecords([...chosen.value], to.value.trim(), reason.value.trim());
      const ids = new Set(released.map((one) => one.record_id));
      given.value = (rows.value ?? []).filter((row) => ids.has(row.record_id));
    } catch (error) {
      wrong.value = deskWords(error);
    } finally {
      busy.value = false;
    }
  };
  const needed = (text: string) => (asked.value && !text.trim() ? t.desk.needed : undefined);
  const failing = (work: Promise<void>) => void work.catch((error: unknown) => { wrong.value = deskWords(error); });
  return (
    <div class="page">
      <h1>{t.desk.releaseTitle}</h1>
      {wrong.value ? <Notice shape="warn" live><p>{wrong.value}</p></Notice> : null}
      {given.value ? (
        <section class="stack" data-testid="released">
          <Notice shape="done" live><p>{t.desk.releaseDone(given.value.length, to.value.trim())}</p></Notice>
          <ul class="list">{given.value.map((row) => (
            <li class="item" key={row.record_id}><span class="grow">{nameOf(row)}</span>
              <Press id="release-open" label={t.desk.forRow(t.desk.openPdf, nameOf(row))} onPress={() => failing(openPdf(row.record_id))}>{t.desk.openPdf}</Press>
              <Press id="release-save" label={t.desk.forRow(t.desk.savePdf, nameOf(row))} onPress={() => failing(savePdf(row.record_id, row.version))}>{t.desk.savePdf}</Press></li>))}</ul>
        </section>
      ) : rows.value === null ? <p role="status">{t.common.loading}</p> : (
        <form class="stack narrow" onSubmit={(e) => { e.preventDefault(); void send(); }}>
          <p>{t.desk.releaseLead}</p>
          <fieldset class="field"><legend>{t.desk.releaseWhich}: {rows.value[0]?.chart_number} {rows.value[0]?.second_identifier}</legend>
            <div class="choices">{rows.value.map((row) => (
              <Tick key={row.record_id} id="release-record" checked={chosen.value.has(row.record_id)} onChange={(on) => {
                const next = new Set(chosen.value);
                if (on) next.add(row.record_id);
                else next.delete(row.record_id);
                chosen.value = next;
              }}>{nameOf(row)}</Tick>))}</div>
            <span class="hint">{t.desk.unsignedNot}</span>
            {asked.value && chosen.value.size === 0 ? <span class="wrong" role="alert">{t.desk.releaseNone}</span> : null}
          </fieldset>
          <TextField id="release-to" label={t.desk.releaseTo} hint={t.desk.releaseToHint} value={to.value} onChange={(v) => { to.value = v; }} wrong={needed(to.value)} max={200} />
          <TextField id="release-reason" label={t.desk.releaseReason} hint={t.desk.releaseReasonHint} value={reason.value} onChange={(v) => { reason.value = v; }} wrong={needed(reason.value)} max={500} />
          <Press id="release-go" kind="main" large submit onPress={() => undefined}>{t.desk.releaseGo}</Press>
        </form>
      )}
      <Press id="release-leave" onPress={() => go("records", record_id)}>{t.common.close}</Press>
    </div>
  );
}

const nameOf = (row: RecordSummary) => `${dateText(row.started_at)}, ${row.procedure_text}, ${row.site}`;

/** The signed records under both identifiers of the patient of this one. */
async function ofSamePatient(record_id: string): Promise<RecordSummary[]> {
  const { patient } = (await deskRecord(record_id)) as RecordDocument;
  const found: RecordSummary[] = [];
  let cursor: string | null = null;
  do {
    const page: Awaited<ReturnType<typeof deskRecords>> = await deskRecords({ q: patient?.chart_number ?? "", ...(cursor ? { cursor } : {}) });
    found.push(...page.records);
    cursor = page.next_cursor;
  } while (cursor);
  return found.filter((row) => row.chart_number === patient?.chart_number && row.second_identifier === patient?.second_identifier
    && row.signed_at !== null && row.status !== "void");
}

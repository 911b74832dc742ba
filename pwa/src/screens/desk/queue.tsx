import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { UNKEPT } from "../../parts/fields";
import { newId } from "../../events/ids";
import { may } from "../../session/rights";
import { chartQueue, placeInChart, recordText, type PaperToRemove, type WaitingRecord } from "../../sync/desk";
import { t } from "../../text";
import { href } from "../route";
import { deskWords, openPdf } from "./papers";
import { ToRemove } from "./remove";
import { Marked, type Done } from "./take-back";

type How = "pdf" | "text" | "other";
/** Nobody looks further down a queue; what is worked off lets the next ones up. */
const AT_ONCE = 50;
const whoseOf = (row: WaitingRecord) => `${row.chart_number} ${row.second_identifier}`;

/** What waits at the charts, oldest first. The next record is open already; the keyboard alone does it all. */
export function Queue() {
  const rows = useSignal<WaitingRecord[] | null>(null);
  const papers = useSignal<PaperToRemove[]>([]);
  const selected = useSignal<string | null>(null);
  /** Whose first button gets the focus once it stands there. */
  const next = useSignal<string | null>(null);
  const done = useSignal<Done | null>(null);
  const said = useSignal<string | null>(null);
  const load = async () => {
    try {
      const answer = await chartQueue();
      rows.value = answer.records;
      papers.value = answer.to_remove;
      said.value = null;
    } catch (error) {
      rows.value ??= [];
      said.value = deskWords(error);
    }
  };
  useEffect(() => {
    void load();
    const again = () => { if (document.visibilityState === "visible") void load(); };
    document.addEventListener("visibilitychange", again);
    return () => document.removeEventListener("visibilitychange", again);
  }, []);
  const waiting = rows.value ?? [];
  const open = waiting.find((row) => row.record_id === selected.value) ?? waiting[0];
  const placed = async (row: WaitingRecord, event_id: string, how: How) => {
    const at = waiting.indexOf(row);
    const following = waiting[at + 1] ?? waiting[at - 1];
    done.value = { record_id: row.record_id, event_id, text: t.desk.placed(whoseOf(row), t.desk.hows[how] ?? how) };
    selected.value = next.value = following?.record_id ?? null;
    await load();
  };
  return (
    <div class="page">
      <div class="row spread"><h1>{t.desk.title}</h1><Press id="queue-refresh" onPress={() => void load()}>{t.desk.refresh}</Press></div>
      <p><strong role="status" data-testid="queue-count">{waiting.length > 0 ? t.desk.count(waiting.length) : ""}</strong> <span class="soft">{t.desk.lead}</span></p>
      {done.value ? <Marked key={done.value.event_id} done={done.value} onTakenBack={() => { done.value = null; void load(); }} /> : null}
      {said.value ? <Notice shape="warn" id="queue-said" live><p>{said.value}</p></Notice> : null}
      <ToRemove papers={papers.value} onDone={(one) => { done.value = one; void load(); }} />
      {rows.value === null ? <p role="status">{t.common.loading}</p> : waiting.length === 0 ? <p data-testid="queue-empty">{t.desk.empty}</p> : (
        <ol class="list" data-testid="queue">{waiting.filter((row, at) => at < AT_ONCE || row === open).map((row) => row === open
          ? <OpenRow key={row.record_id} row={row} focus={next.value === row.record_id} onPlaced={placed} />
          : <ClosedRow key={row.record_id} row={row} onOpen={() => { selected.value = next.value = row.record_id; }} />)}</ol>
      )}
    </div>
  );
}

function Head({ row }: { row: WaitingRecord }) {
  return (
    <>
      <span class="strong">{whoseOf(row)}</span>
      <span class="small">{row.procedure_text}, {row.site}</span>
      <span class="small soft">{momentText(row.started_at)}, {row.operator_name}, {row.device_label}</span>
      <span class="small soft">{t.desk.waiting(momentText(row.waiting_since ?? row.signed_at))}</span>
    </>
  );
}

function ClosedRow({ row, onOpen }: { row: WaitingRecord; onOpen: () => void }) {
  return (
    <li data-testid="queue-row">
      <button type="button" class="item" data-testid="queue-select" onClick={onOpen}><span class="grow"><Head row={row} />
        {row.changes.length > 0 ? <Mark shape="note">{t.desk.version(row.version, row.placed_version ?? 1)}</Mark> : null}</span></button>
    </li>
  );
}

function OpenRow({ row, focus, onPlaced }: { row: WaitingRecord; focus: boolean; onPlaced: (row: WaitingRecord, event_id: string, how: How) => Promise<void> }) {
  const said = useSignal<string | null>(null);
  const text = useSignal<string | null>(null);
  const how = useSignal<How>("pdf");
  const busy = useSignal(false);
  // The same try again, after no answer came, is the same placing.
  const key = useRef(newId());
  const here = useRef<HTMLLIElement>(null);
  useEffect(() => { if (focus) here.current?.querySelector<HTMLElement>("button")?.focus(); }, [focus]);
  const whose = whoseOf(row);
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
  const place = () => void run(async () => {
    const { event_id } = await placeInChart(row.record_id, row.version, how.value, key.current);
    await onPlaced(row, event_id, how.value);
  });
  return (
    <li class="sheet" data-testid="queue-row" aria-current="true" ref={here}>
      <div class="row spread base">
        <span class="stack"><Head row={row} /></span>
        <a href={href("records", row.record_id)} class="button quiet small" data-testid="queue-open">{t.desk.openRecord}</a>
      </div>
      <Changes row={row} />
      {/* Never switched off while working: the focus would be lost to who works by keyboard. */}
      <div class="row">
        <Press id="queue-pdf" label={t.desk.forRow(t.desk.openPdf, whose)} onPress={pdf}>{t.desk.openPdf}</Press>
        <Press id="queue-copy" label={t.desk.forRow(t.desk.copyText, whose)} onPress={copy}>{t.desk.copyText}</Press>
        {may("record.place") ? (
          <>
            <label class="field"><span class="label hidden-text">{t.desk.forRow(t.desk.how, whose)}</span>
              <select data-testid="queue-how" value={how.value} onChange={(e) => { how.value = e.currentTarget.value as How; }}>
                {Object.entries(t.desk.hows).map(([value, words]) => <option key={value} value={value}>{words}</option>)}
              </select></label>
            <Press id="queue-place" kind="main" label={t.desk.forRow(t.desk.place, whose)} onPress={place}>{t.desk.place}</Press>
          </>
        ) : null}
      </div>
      <p role="status" class="small" data-testid="queue-row-said">{said.value ?? ""}</p>
      {text.value ? <label class="field"><span class="label">{t.desk.textTitle}</span><textarea readOnly form={UNKEPT} rows={10} data-testid="queue-text" value={text.value} /></label> : null}
    </li>
  );
}

/** Why a record that is in the chart already has come back. */
function Changes({ row }: { row: WaitingRecord }) {
  if (row.changes.length === 0) return null;
  const words = t.desk.changes;
  return (
    <Notice calm shape="note" id="queue-changes">
      <strong>{t.desk.version(row.version, row.placed_version ?? 1)}</strong>
      {row.changes.map((one) => {
        const say = one.kind === "addendum" ? words.addendum : one.kind === "reattribution" ? words.reattribution : words.other;
        return <p key={one.version} class="small">{say(one.by_name ?? t.common.unknownPerson, momentText(one.at), one.reason ?? t.moving.reasonHidden)}</p>;
      })}
    </Notice>
  );
}

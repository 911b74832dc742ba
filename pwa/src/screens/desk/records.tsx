import { effect, signal, useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Glyph, Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { TextField } from "../../parts/fields";
import { NO_FILTERS, waitsForChart, type Facets, type Filters } from "../../session/finding";
import type { RecordDocument } from "../../session/fold";
import { may } from "../../session/rights";
import { person } from "../../session/state";
import { deskRecord, deskRecords, deskRegister, type RecordsPage, type RecordSummary } from "../../sync/desk";
import { t } from "../../text";
import { FilterFields, STATUS_SHAPE } from "../records/list";
import { RecordView } from "../records/record";
import { go, href } from "../route";
import { deskWords, openPdf } from "./papers";
import { TakeBack } from "./take-back";

/** Kept for the session, so that coming back from a record finds the same list; forgotten with it. */
const wanted = signal<Filters>(NO_FILTERS);
effect(() => {
  void person.value?.person_id;
  wanted.value = NO_FILTERS;
});
interface Registers extends Facets { names: Record<string, string> }
const NOTHING: Registers = { operators: [], devices: [], procedures: [], names: {} };

export function DeskRecords() {
  const page = useSignal<RecordsPage | null>(null);
  const registers = useSignal<Registers>(NOTHING);
  const wrong = useSignal<string | null>(null);
  const busy = useSignal(false);
  const load = async (cursor?: string) => {
    busy.value = true;
    wrong.value = null;
    try {
      const answer = await deskRecords({ ...asked(wanted.value), ...(cursor ? { cursor } : {}) });
      page.value = cursor && page.value ? { ...answer, records: [...page.value.records, ...answer.records] } : answer;
    } catch (error) {
      wrong.value = deskWords(error);
      page.value ??= { records: [], next_cursor: null, total: 0, moved: [] };
    } finally {
      busy.value = false;
    }
  };
  useEffect(() => {
    void load();
    // Whoever is here in an emergency reads records, and no registers.
    if (may("house.read")) loadRegisters().then((found) => { registers.value = found; }, () => undefined);
  }, []);
  const set = (next: Partial<Filters>) => { wanted.value = { ...wanted.value, ...next }; void load(); };
  const found = page.value;
  return (
    <div class="page">
      <h1>{t.desk.records}</h1>
      <p class="soft small">{t.desk.readOnly}</p>
      <form class="stack" onSubmit={(e) => { e.preventDefault(); void load(); }}>
        <TextField id="desk-search" kind="search" label={t.records.search} value={wanted.value.words} max={100} onChange={(words) => { wanted.value = { ...wanted.value, words }; }} />
        <Press id="desk-search-go" submit onPress={() => undefined}>{t.desk.search}</Press>
      </form>
      <FilterFields filters={wanted.value} facets={registers.value} nameOf={(id) => registers.value.names[id] ?? t.common.unknownPerson} onChange={set} />
      {wrong.value ? <Notice shape="warn" live><p>{wrong.value}</p></Notice> : null}
      {found?.moved.map((one) => (
        <Notice key={one.at + (one.by_id ?? "")} calm id="tombstone"><p>{t.moving.tombstone(one.chart_number ?? "", momentText(one.at), one.by_name ?? t.common.unknownPerson, one.reason ?? t.moving.reasonHidden)}</p></Notice>
      ))}
      {found === null ? <p role="status">{t.common.loading}</p> : (
        <>
          <p role="status" class="soft small" data-testid="records-count">{found.records.length === 0 ? t.desk.noRecords
            : found.next_cursor ? t.finding.shown(found.records.length, found.total) : t.finding.count(found.total)}</p>
          <ul class="list" data-testid="records">{found.records.map((row) => <Row key={row.record_id} row={row} />)}</ul>
          {found.next_cursor ? <Press id="records-more" wide disabled={busy.value} onPress={() => void load(found.next_cursor!)}>{t.desk.more}</Press> : null}
        </>
      )}
    </div>
  );
}

function asked({ words, status, from, to, operator_id, device_id, procedure, flagged, not_in_chart }: Filters) {
  return { q: words.trim(), status, from, to, operator_id, device_id, procedure, flagged, waits_for_chart: not_in_chart };
}

async function loadRegisters(): Promise<Registers> {
  const [people, devices, kinds] = await Promise.all([deskRegister("person"), deskRegister("device"), deskRegister("procedure_kind")]) as
    [{ person_id: string; display_name: string; roles: string[] }[], { device_id: string; label: string }[], { text: string }[]];
  return {
    operators: people.filter((one) => one.roles.includes("clinician")).map((one) => one.person_id),
    devices: devices.map(({ device_id, label }) => ({ device_id, label })),
    procedures: [...new Set(kinds.map((one) => one.text))].sort((a, b) => a.localeCompare(b)),
    names: Object.fromEntries(people.map((one) => [one.person_id, one.display_name])),
  };
}

function Row({ row }: { row: RecordSummary }) {
  const signed = row.signed_at !== null && row.status !== "void";
  const waits = row.placed_at === null || (row.placed_version ?? 1) < row.version;
  return (
    <li><a class="item" href={href("records", row.record_id)} data-testid="record">
      <span class="grow"><span class="strong">{row.chart_number} {row.second_identifier}</span>
        <span class="small">{row.procedure_text}, {row.site}</span>
        <span class="small soft">{momentText(row.started_at)}, {row.operator_name}</span>
        <span class="row"><Mark shape={STATUS_SHAPE[row.status] ?? "note"}>{t.records.status[row.status] ?? row.status}</Mark>
          {row.flags.length > 0 ? <Mark shape="warn">{t.finding.flags(row.flags.length)}</Mark> : null}
          {signed ? <span class="small soft">{waits ? (row.placed_at ? t.finding.newVersion(row.version) : t.records.notInChart) : t.records.inChart}</span> : null}</span></span>
      <Glyph shape="turn" /></a></li>
  );
}

export function DeskRecord({ record_id }: { record_id: string }) {
  const record = useSignal<RecordDocument | null>(null);
  const wrong = useSignal<string | null>(null);
  const asked = useSignal(false);
  const load = () => deskRecord(record_id).then((doc) => { record.value = doc as RecordDocument; }, (error: unknown) => { wrong.value = deskWords(error); });
  useEffect(() => { void load(); }, [record_id]);
  const doc = record.value;
  if (!doc) return <div class="page"><h1>{t.desk.records}</h1>{wrong.value ? <Notice shape="warn" live><p>{wrong.value}</p></Notice> : <p role="status">{t.common.loading}</p>}</div>;
  const { chart } = doc;
  return (
    <div class="page">
      {wrong.value ? <Notice shape="warn" live><p>{wrong.value}</p></Notice> : null}
      <div class="row spread"><h1><Mark shape={STATUS_SHAPE[doc.status] ?? "note"} id="record-status">{t.records.status[doc.status]}</Mark></h1>
        <span class="row">
          <Press id="record-proof" onPress={() => go("records", record_id, "proof")}>{t.proof.open}</Press>
          {doc.version > 0 && !doc.erased ? <Press id="desk-record-pdf" onPress={() => void openPdf(record_id).catch((error: unknown) => { wrong.value = deskWords(error); })}>{t.desk.openPdf}</Press> : null}
          {doc.version > 0 && !doc.erased && !doc.voided && may("record.release") ? <Press id="desk-release" onPress={() => go("records", record_id, "release")}>{t.desk.releaseOpen}</Press> : null}
          {may("retention.read") ? <Press id="desk-erase" onPress={() => go("records", record_id, "erase")}>{t.erasure.open}</Press> : null}
        </span></div>
      <RecordView record={doc} />
      {chart && !waitsForChart(doc) && may("record.place")
        ? <TakeBack done={{ record_id, event_id: chart.event_id, text: "" }} asked={asked} start={t.desk.notInChart} onTakenBack={() => { asked.value = false; void load(); }} />
        : null}
    </div>
  );
}

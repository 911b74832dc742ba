import { computed, effect, signal, useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Glyph, Mark, Notice, Press, type Shape } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { More } from "../../parts/dose";
import { Select, TextField, Tick } from "../../parts/fields";
import { facetsOf, matching, movedAway, NO_FILTERS, readAhead, waitsForChart, type Facets, type Filters } from "../../session/finding";
import type { RecordDocument } from "../../session/fold";
import { breath, personName } from "../../session/house";
import { allRecords, captureOnly, person, readingOlder, status } from "../../session/state";
import { t } from "../../text";
import { href } from "../route";

export const STATUS_SHAPE: Record<string, Shape> = { draft: "wait", ended: "warn", signed: "done", amended: "note", void: "stop", erased: "stop" };
/** As many as a thumb scrolls through; a longer list is asked for, not built at once. */
const PAGE = 30;
/** As many as a tablet held upright shows before it is scrolled. */
const FIRST = 10;

/** Kept while the tablet is unlocked, so that coming back from a record finds the same list. */
const wanted = signal<Filters>(NO_FILTERS);
// Of thousands of records hardly any was moved, and what there is to choose from seldom changes.
const moved = computed(() => allRecords.value.filter((r) => r.reattributions.length > 0));
/** Of what was erased nothing is left to find; whoever has its address sees that it was. */
const listed = computed(() => allRecords.value.some((r) => r.status === "erased") ? allRecords.value.filter((r) => r.status !== "erased") : allRecords.value);
const facets = computed(() => facetsOf(allRecords.value));
effect(() => {
  // What one person looked for does not cross to another.
  void person.value?.person_id;
  wanted.value = NO_FILTERS;
});

export function RecordList() {
  const shown = useSignal(FIRST);
  useEffect(() => { void breath().then(() => readAhead(listed.value, personName, breath)); }, []);
  // What is below the edge of the screen follows once the finger is answered.
  useEffect(() => { if (shown.value < PAGE) void breath().then(() => { shown.value = Math.max(shown.value, PAGE); }); }, [shown.value]);
  const found = matching(listed.value, wanted.value, personName);
  const set = (next: Partial<Filters>) => { wanted.value = { ...wanted.value, ...next }; shown.value = FIRST; };
  const rest = found.length - shown.value;
  return (
    <div class="page">
      <h1>{t.records.title}</h1>
      <TextField id="record-search" kind="search" label={t.records.search} value={wanted.value.words} onChange={(words) => set({ words })} />
      <FilterFields filters={wanted.value} facets={facets.value} nameOf={(id) => personName(id) ?? t.common.unknownPerson} onChange={set} />
      <Holdings />
      {movedAway(moved.value, wanted.value.words).map((one) => (
        <Notice key={one.event_id} calm id="tombstone"><p>{t.moving.tombstone(one.chart_number, momentText(one.at), personName(one.by) ?? t.common.unknownPerson, one.reason ?? t.moving.reasonHidden)}</p></Notice>
      ))}
      <p role="status" class="soft small" data-testid={found.length === 0 ? "records-none" : "records-count"}>
        {found.length === 0 ? (allRecords.value.length === 0 ? t.records.none : t.records.noMatch)
          : rest > 0 ? t.finding.shown(shown.value, found.length) : t.finding.count(found.length)}</p>
      <ul class="list" data-testid="records">{found.slice(0, shown.value).map((r) => <Row key={r.record_id} record={r} />)}</ul>
      {rest > 0 ? <Press id="records-more" wide onPress={() => { shown.value += PAGE; }}>{t.finding.more(Math.min(rest, PAGE))}</Press> : null}
    </div>
  );
}

/** Over what is searched: without a connection only what lies here. */
function Holdings() {
  const last = status.value.last_contact;
  if (captureOnly.value) return <Notice calm id="records-holdings"><p class="small">{t.finding.captureOnly}</p></Notice>;
  if (!status.value.online) return <Notice calm id="records-holdings"><p class="small">{last ? t.finding.offline(momentText(last)) : t.finding.offlineNever}</p></Notice>;
  return readingOlder.value ? <p class="small soft" role="status">{t.finding.readingOlder}</p> : null;
}

const STATUSES = ["draft", "ended", "signed", "amended", "void"] as const;

/** The filters of a list of records, the same on a tablet and at a desk. */
export function FilterFields({ filters, facets, nameOf, onChange }: {
  filters: Filters; facets: Facets; nameOf: (id: string) => string; onChange: (next: Partial<Filters>) => void;
}) {
  const { words: _words, ...others } = filters;
  const active = Object.values(others).filter(Boolean).length;
  const any = { value: "", text: t.finding.any };
  return (
    <More id="filters" title={active > 0 ? `${t.finding.filters}: ${t.finding.active(active)}` : t.finding.filters}>
      <div class="stack">
        <div class="choices filters">
          <Select id="filter-status" label={t.finding.status} value={filters.status} onChange={(v) => onChange({ status: v })}
            options={[any, ...STATUSES.map((value) => ({ value, text: t.records.status[value] ?? value }))]} />
          <Day id="filter-from" label={t.finding.from} value={filters.from} onChange={(v) => onChange({ from: v })} />
          <Day id="filter-to" label={t.finding.to} value={filters.to} onChange={(v) => onChange({ to: v })} />
          <Select id="filter-operator" label={t.finding.operator} value={filters.operator_id} onChange={(v) => onChange({ operator_id: v })}
            options={[any, ...facets.operators.map((value) => ({ value, text: nameOf(value) }))]} />
          <Select id="filter-device" label={t.finding.device} value={filters.device_id} onChange={(v) => onChange({ device_id: v })}
            options={[any, ...facets.devices.map((one) => ({ value: one.device_id, text: one.label }))]} />
          <Select id="filter-procedure" label={t.finding.procedure} value={filters.procedure} onChange={(v) => onChange({ procedure: v })}
            options={[any, ...facets.procedures.map((value) => ({ value, text: value }))]} />
        </div>
        <div class="choices across">
          <Tick id="filter-flagged" checked={filters.flagged} onChange={(on) => onChange({ flagged: on })}>{t.finding.flagged}</Tick>
          <Tick id="filter-chart" checked={filters.not_in_chart} onChange={(on) => onChange({ not_in_chart: on })}>{t.finding.notInChart}</Tick>
        </div>
        {active > 0 || filters.words ? <Press id="filter-clear" onPress={() => onChange(NO_FILTERS)}>{t.finding.clear}</Press> : null}
      </div>
    </More>
  );
}

function Day({ id, label, value, onChange }: { id: string; label: string; value: string; onChange: (day: string) => void }) {
  return (
    <div class="field"><label for={id}>{label}</label>
      <input id={id} data-testid={id} type="date" value={value} onInput={(e) => onChange(e.currentTarget.value)} /></div>
  );
}

function Row({ record }: { record: RecordDocument }) {
  return (
    <li>
      <a class="item" href={href("records", record.record_id)} data-testid="record">
        <span class="grow">
          <span class="strong">{record.patient?.chart_number} {record.patient?.second_identifier}</span>
          <span class="small">{record.procedure?.text}, {record.site}</span>
          <span class="small soft">{momentText(record.started_at)}, {personName(record.operator_id)}</span>
          <span class="row"><Mark shape={STATUS_SHAPE[record.status] ?? "note"}>{t.records.status[record.status]}</Mark>
            {record.flags.length > 0 ? <Mark shape="warn">{t.finding.flags(record.flags.length)}</Mark> : null}
            {record.sign_off && !record.voided ? <span class="small soft">{waitsForChart(record) ? (record.chart ? t.finding.newVersion(record.version) : t.records.notInChart) : t.records.inChart}</span> : null}</span>
        </span>
        <Glyph shape="turn" />
      </a>
    </li>
  );
}

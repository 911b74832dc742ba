import { Mark, Notice } from "../../parts/basics";
import { dateText, momentText, timeText } from "../../parts/dates";
import { quantityText } from "../../parts/quantity";
import type { RecordDocument } from "../../session/fold";
import { personName } from "../../session/house";
import { t } from "../../text";
import { PassList } from "../case/pass-list";
import { percent } from "../facts";

const f = t.records.fact;

/** Names that came with a record from the server, for a desk that holds no register. */
export function nameOf(record: RecordDocument, id: string | null | undefined): string {
  if (!id) return "";
  const sent = (record as unknown as { people?: Record<string, string | { display_name?: string }> }).people?.[id];
  return personName(id) ?? (typeof sent === "string" ? sent : sent?.display_name) ?? t.common.unknownPerson;
}

/** Everything the record says, in the order in which it is read aloud. Blanks stay visible as blanks. */
export function ReadBack({ record }: { record: RecordDocument }) {
  const name = (id: string | null | undefined) => nameOf(record, id);
  const check = record.verification;
  const rows: [string, string | null | undefined][] = [
    [f.procedure, [record.procedure?.text, record.procedure?.code].filter(Boolean).join(", ")],
    [f.site, record.site],
    [f.indication, record.indication],
    [f.why, record.why_laser],
    [f.operator, name(record.operator_id)],
    [f.supervising, name(record.supervising_id)],
    [f.assistants, record.assistant_ids.map(name).join(", ")],
    [f.room, record.room],
    [f.consent, record.consent ? `${name(record.consent.by)}, ${timeText(record.consent.at)}` : null],
    [f.anaesthesia, record.anaesthesia],
    [f.alerts, record.alerts_reviewed ? t.common.yes : t.common.no],
    [f.device, record.device ? `${record.device.label}, ${record.device.serial}, ${quantityText(record.device.wavelength)}` : null],
    [f.handpiece, record.handpiece?.label],
    [f.check, check ? `${percent(check.ratio)}, ${dateText(check.verified_at)}, ${(t.today.verdict[check.verdict] ?? check.verdict).toLowerCase()}` : null],
    [f.started, momentText(record.started_at)],
    [f.ended, momentText(record.ended_at)],
  ];
  return (
    <div class="two" data-testid="read-back">
      <section class="stack">
        <p class="patient"><span class="small soft">{t.records.patient}</span><br />
          <span class="setting" data-testid="record-patient">{record.patient?.chart_number} {record.patient?.second_identifier}</span></p>
        <dl class="facts">{rows.map(([label, text]) => [<dt key={label}>{label}</dt>, <dd key={`${label}-v`}>{text || <span class="soft">{t.common.notStated}</span>}</dd>])}</dl>
        <TimeOutFacts record={record} />
      </section>
      <section class="stack">
        <PassList record={record} />
        {record.notes.length > 0 ? <><h2>{f.notes}</h2>{record.notes.map((n) => <p key={n.event_id} class="pre"><span class="small soft">{timeText(n.at)}</span> {n.text}</p>)}</> : null}
        {record.outcome ? (
          <><h2>{f.outcome}</h2><dl class="facts">{(["haemostasis", "specimens", "sutures", "complications", "instructions"] as const).map((key) => [
            <dt key={key}>{t.case[key]}</dt>, <dd key={`${key}-v`} class="pre">{(record.outcome as Record<string, string | null>)[key] || <span class="soft">{t.common.notStated}</span>}</dd>])}</dl></>
        ) : null}
        {record.flags.length > 0 ? <Notice shape="warn" id="record-flags"><strong>{t.records.flags}</strong>{record.flags.map((x) => <p key={x.code + x.event_id} class="small">{x.text}</p>)}</Notice> : null}
      </section>
    </div>
  );
}

function TimeOutFacts({ record }: { record: RecordDocument }) {
  const done = record.time_out;
  if (!done) return <Mark shape="warn">{t.case.timeout.pending}</Mark>;
  const odd = done.answers.filter((a) => a.answer !== "yes");
  return (
    <div class="stack">
      <Mark shape="done">{t.case.timeout.done(timeText(done.completed_at))}: {done.title}, {nameOf(record, done.led_by)}</Mark>
      {odd.map((a) => <p key={a.item_id} class="small">{a.text}: <strong>{a.answer}</strong>{a.note ? `, ${a.note}` : ""}</p>)}
    </div>
  );
}

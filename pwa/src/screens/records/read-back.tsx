import { Mark, Notice } from "../../parts/basics";
import { dateText, momentText, timeText } from "../../parts/dates";
import { quantityText } from "../../parts/quantity";
import type { RecordDocument } from "../../session/fold";
import { t } from "../../text";
import { PassList } from "../case/pass-list";
import { flagText } from "./flags";
import { percent } from "../facts";
import { ListsAnswered } from "../lists/marks";
import { Photographs } from "../photographs";
import { nameOf } from "./names";

type Row = [label: string, text: string | null | undefined];

/** Everything the record says, in the order in which it is read aloud. Blanks stay visible as blanks. */
export function ReadBack({ record }: { record: RecordDocument }) {
  const f = t.records.fact;
  return (
    <div class="two" data-testid="read-back">
      <section class="stack">
        <p class="patient"><span class="small soft">{t.records.patient}</span><br />
          <span class="setting" data-testid="record-patient">{record.patient?.chart_number} {record.patient?.second_identifier}</span></p>
        <Facts rows={opening(record)} />
        <ListsAnswered record={record} />
        <Course record={record} />
      </section>
      <section class="stack">
        <PassList record={record} />
        {record.notes.length > 0 ? <><h2>{f.notes}</h2>{record.notes.map((n) => <p key={n.event_id} class="pre"><span class="small soft">{timeText(n.at)}</span> {n.text}</p>)}</> : null}
        <Photographs record={record} />
        {record.outcome ? (
          <><h2>{f.outcome}</h2><Facts rows={(["haemostasis", "specimens", "sutures", "complications", "instructions"] as const).map((key) => [t.case[key], record.outcome?.[key]])} /></>
        ) : null}
        {record.flags.length > 0 ? <Notice shape="warn" id="record-flags"><strong>{t.records.flags}</strong>{record.flags.map((x) => <p key={x.code + x.event_id} class="small">{flagText(record, x)}</p>)}</Notice> : null}
      </section>
    </div>
  );
}

function opening(record: RecordDocument): Row[] {
  const f = t.records.fact;
  const name = (id: string | null | undefined) => nameOf(record, id);
  const check = record.verification;
  return [
    [f.procedure, [record.procedure?.text, record.procedure?.code].filter(Boolean).join(", ")],
    [f.site, record.site],
    [f.indication, record.indication],
    [f.why, record.why_laser],
    [f.operator, name(record.operator_id)],
    [f.supervising, name(record.supervising_id)],
    [f.assistants, record.assistant_ids.map(name).join(", ")],
    [f.others, record.others_present],
    [f.room, record.room],
    [f.consent, record.consent ? `${name(record.consent.by)}, ${timeText(record.consent.at)}` : null],
    [f.anaesthesia, record.anaesthesia],
    [f.alerts, record.alerts_reviewed ? t.common.yes : t.common.no],
    [f.device, record.device ? [record.device.label, record.device.serial, quantityText(record.device.wavelength)].filter(Boolean).join(", ") : null],
    [f.tips, tipsOf(record)],
    [f.check, check ? `${percent(check.ratio)}, ${dateText(check.verified_at)}, ${(t.today.verdict[check.verdict] ?? check.verdict).toLowerCase()}` : null],
    [f.started, momentText(record.started_at)],
    [f.ended, momentText(record.ended_at)],
  ];
}

/** Every handpiece or tip that the record names, with the passes it was used for. */
function tipsOf(record: RecordDocument): string {
  const used = new Map<string, { label: string; passes: number[] }>();
  if (record.handpiece) used.set(record.handpiece.handpiece_id, { label: record.handpiece.label, passes: [] });
  for (const { handpiece, number } of record.passes) {
    if (!handpiece) continue;
    const known = used.get(handpiece.handpiece_id) ?? { label: handpiece.label, passes: [] };
    used.set(handpiece.handpiece_id, { ...known, passes: [...known.passes, number] });
  }
  const tips = [...used.values()];
  return tips.map(({ label, passes }) => (tips.length > 1 && passes.length > 0 ? t.records.tipFor(label, passes.join(", ")) : label)).join("; ");
}

/** What happened beside the passes: protection, pauses, hand-overs. */
function Course({ record }: { record: RecordDocument }) {
  const f = t.records.fact;
  const { protection, pauses, handovers } = record;
  if (!protection && pauses.length === 0 && handovers.length === 0 && !record.accepted?.length && !record.overrides?.length) return null;
  const roles = t.history.roles as Record<string, string>;
  const rows: Row[] = [
    ...(protection ? [
      [f.heads, String(protection.heads)],
      [f.eyewear, protection.eyewear.map((one) => [one.wearer, one.label, one.wavelength, one.optical_density ? `OD ${one.optical_density}` : null].filter(Boolean).join(", ")).join("; ")],
      [f.evacuator, protection.evacuator],
      [f.masks, protection.masks],
    ] as Row[] : []),
    ...pauses.map((one): Row => [f.pause, `${timeText(one.from_at)} – ${one.to_at ? timeText(one.to_at) : "…"}${one.reason ? `, ${one.reason}` : ""}`]),
    ...(record.accepted ?? []).map((one): Row => [f.accepted, `${nameOf(record, one.operator_id)}: ${one.reason}`]),
    ...(record.overrides ?? []).map((one): Row => [f.overridden, `${one.causes.map((each) => each.text).join("; ")}. ${one.reason}`]),
    ...handovers.map((one): Row => [f.handover, `${timeText(one.at)}, ${roles[one.role] ?? one.role}: ${nameOf(record, one.from_id)} → ${nameOf(record, one.to_id)}`]),
  ];
  return (
    <div class="stack" data-testid="record-course">
      <Facts rows={rows} />
      {protection?.deviations ? <Mark shape="warn" id="record-deviations">{f.deviations}: {protection.deviations}</Mark> : null}
    </div>
  );
}

export function Facts({ rows }: { rows: Row[] }) {
  return (
    <dl class="facts">{rows.map(([label, text], i) => [
      <dt key={`${label}${i}`}>{label}</dt>,
      <dd key={`${label}${i}-v`} class="pre">{text || <span class="soft">{t.common.notStated}</span>}</dd>,
    ])}</dl>
  );
}

import { Mark, Press } from "../../parts/basics";
import { timeText } from "../../parts/dates";
import { More } from "../../parts/dose";
import type { RecordDocument } from "../../session/fold";
import { listFor } from "../../session/house_lists";
import { lateness, type Lateness, type ListKind } from "../../session/lists";
import { t } from "../../text";
import { nameOf } from "../records/names";
import { spanText, tookSeconds } from "./show";

/** One line for each list that the procedure calls for, plainly: in time, late, or not answered. */
export function ListMarks({ record, onAnswer }: { record: RecordDocument; onAnswer?: (kind: ListKind) => void }) {
  const open = record.status === "draft" || record.status === "ended";
  return (
    <ul class="stack" data-testid="list-marks">
      {lateness(record).map((row) => (
        <li key={row.kind + (row.pause_from_at ?? "")} class="row spread">
          <StateMark row={row} record={record} />
          {onAnswer && open && row.state === "not answered" && listFor(row.kind, Date.now())
            ? <Press id={`answer-${row.kind}`} label={`${t.lists.answerNow}: ${t.lists.kinds[row.kind] ?? row.kind}`} onPress={() => onAnswer(row.kind)}>{t.lists.answerNow}</Press>
            : null}
        </li>
      ))}
    </ul>
  );
}

export function StateMark({ row, record }: { row: Lateness; record: RecordDocument }) {
  const kind = [t.lists.kinds[row.kind] ?? row.kind, row.pause_from_at ? t.lists.states.pause(timeText(row.pause_from_at)) : null].filter(Boolean).join(", ");
  const id = `list-state-${row.kind}`;
  if (row.state === "late") return <Mark shape="warn" id={id}>{t.lists.states.late(kind, timeText(row.completed_at), spanText(row.late_by_s ?? 0))}</Mark>;
  if (row.state === "in time") return <Mark shape="done" id={id}>{t.lists.states.inTime(kind, timeText(row.completed_at))}</Mark>;
  // Once what it should precede has happened, "not yet" would be more than is true.
  const past = row.kind === "after_use" ? record.ended_at !== null : row.kind === "pause" || record.passes.length > 0 || record.ended_at !== null;
  return <Mark shape={past ? "warn" : "wait"} id={id}>{past ? t.lists.states.not(kind) : t.lists.states.notYet(kind)}</Mark>;
}

/** The lists as they were answered: states first, then what was not a yes, then every answer with its time and person. */
export function ListsAnswered({ record }: { record: RecordDocument }) {
  const all = [...(record.time_out ? [{ ...record.time_out, kind: "time_out", event_id: "time-out" }] : []), ...(record.lists ?? [])]
    .sort((a, b) => Date.parse(a.completed_at) - Date.parse(b.completed_at));
  return (
    <section class="stack" data-testid="lists-answered">
      <h2>{t.lists.inProcedure}</h2>
      <ListMarks record={record} />
      {all.map((one) => (
        <div class="stack" key={one.event_id}>
          <p class="small"><span class="strong">{one.title}</span>, {t.lists.version(one.list_version).toLowerCase()}, {timeText(one.completed_at)}, {t.lists.byWhom(nameOf(record, one.led_by))}
            {" "}({spanText(tookSeconds(one.answers))})</p>
          {one.answers.filter((a) => a.answer !== "yes").map((a) => (
            <p key={a.item_id} class="small" data-testid="answer-odd">{a.text}: <strong>{t.lists.answers[a.answer] ?? a.answer}</strong>{a.note ? `. ${a.note}` : ""}</p>
          ))}
          <More id={`answers-${one.kind}`} title={t.lists.showAnswers}>
            <ul class="list">{one.answers.map((a) => (
              <li key={a.item_id} class="item"><span class="grow small"><span>{a.text}</span>
                <span class="soft">{t.lists.answers[a.answer] ?? a.answer}, {timeText(a.answered_at)}{a.by ? `, ${nameOf(record, a.by)}` : ""}{a.note ? `. ${a.note}` : ""}</span></span></li>
            ))}</ul>
          </More>
        </div>
      ))}
    </section>
  );
}

import { Mark } from "../../parts/basics";
import { isDeviceKind } from "../../session/check-verdict";
import type { DueRow } from "../../session/due";
import { house, personName } from "../../session/house";
import { REGISTERS, things, type RegisterKind } from "../../session/registers";
import { incidents } from "../../session/upkeep";
import { t } from "../../text";
import { dayText } from "../day";
import { href } from "../route";

const SHAPES = { overdue: "warn", due: "wait", soon: "note" } as const;

/** What is due, in sentences; each leads to where it is dealt with. */
export function DueLines({ rows }: { rows: readonly DueRow[] }) {
  if (rows.length === 0) return null;
  return (
    <section class="stack" aria-label={t.registers.due.title} data-testid="due">
      <h2>{t.registers.due.title}</h2>
      <ul class="list">{rows.map((row) => {
        const to = addressOf(row);
        const line = <span class="grow"><span class="strong">{subjectOf(row)}</span><Mark shape={SHAPES[row.state]}>{dueText(row)}</Mark></span>;
        return <li key={`${row.what}-${row.subject_id}-${row.detail}`} data-testid={`due-${row.what}`}>{to ? <a class="item" href={to}>{line}</a> : <span class="item">{line}</span>}</li>;
      })}</ul>
    </section>
  );
}

/** "Calibration due on 3 May: since 12 days" and the like. */
export function dueText({ what, due_on, state }: DueRow): string {
  const w = t.registers.due;
  const name = w.what[what] ?? what;
  if (due_on === null) return w.never(name);
  // It expires on a day of its own, and nobody is late with it before.
  if (what === "credential") return { overdue: w.expired, due: w.expires, soon: w.expires }[state](name, dayText(due_on));
  return { overdue: w.overdue, due: w.today, soon: w.soon }[state](name, dayText(due_on));
}

export function subjectOf({ subject_kind, subject_id, detail }: DueRow): string {
  if (subject_kind === "location") return house.value.place?.name ?? t.registers.title;
  if (subject_kind === "person") {
    const person = house.value.people.find((one) => one.person_id === subject_id);
    const credential = person?.credentials?.find((one) => one.credential_id === detail);
    return [personName(subject_id), credential?.text].filter(Boolean).join(": ");
  }
  if (subject_kind === "incident") {
    const incident = incidents.value.find((one) => one.incident_id === subject_id);
    const action = incident?.actions.find((one) => one.action_id === detail);
    return [incident ? t.upkeep.kinds[incident.kind] : t.upkeep.incidents, action?.what].filter(Boolean).join(": ");
  }
  const kind = REGISTERS.find((one) => one === subject_kind);
  return (kind && nameOf(kind, subject_id)) ?? subject_id;
}

const nameOf = (kind: RegisterKind, id: string): string | undefined => things(kind).find((one) => one.id === id)?.thing.label;

function addressOf({ what, subject_kind, subject_id }: DueRow): string | null {
  if (isDeviceKind(what)) return href("practice", "checks", subject_id);
  if (what === "power_check") return href("practice", "power", subject_id);
  if (what === "maintenance") return href("practice", "maintenance", subject_id);
  if (subject_kind === "incident") return href("practice", "incidents", subject_id);
  if (what === "inventory") return href("practice", "registers", "inventory");
  if (subject_kind === "person") return null;
  return REGISTERS.some((one) => one === subject_kind) ? href("practice", "registers", subject_kind, subject_id) : null;
}

import { useEffect } from "preact/hooks";
import type {
  LaserEmitted, PassStarted, ProcedureEnded, ProcedureHandedOver, ProcedureOpened, ProtectionNoted,
} from "../../events/catalogue";
import { Choice, Select, TextField } from "../../parts/fields";
import { payloadOf } from "../../session/commands_case";
import type { HistoryLine, RecordDocument } from "../../session/fold";
import { house } from "../../session/house";
import { split } from "../../session/settings";
import { t } from "../../text";
import { go } from "../route";
import { Frame, useForm } from "./correct-frame";
import { CorrectPass } from "./correct-pass";
import { OutcomeFields, outcomeOf, type OutcomeForm } from "./end";
import { Further, Needed } from "./opening";
import { formOf as openingForm, missing, said as openingSaid, type OpeningForm } from "./opening-form";
import { ProtectionFields } from "./protection-fields";
import { formOf as protectionForm, good, saidBy, type ProtectionForm } from "./protection-form";
import { readTime, TimeFields, type TimeForm } from "./time-form";

/** Entries that can be said again in the form they were first said in. */
export const CORRECTED: readonly string[] = [
  "procedure.opened", "pass.started", "laser.emitted", "procedure.noted", "procedure.paused", "procedure.handed_over",
  "protection.noted", "procedure.ended",
];

/** One entry put right: the form it was made with, filled with what it says. */
export function Correct({ record, event_id }: { record: RecordDocument; event_id: string }) {
  const line = record.history.find((one) => one.event_id === event_id && one.effective);
  const payload = line && payloadOf<object>(record.record_id, event_id);
  if (!line || !payload) return <Gone record_id={record.record_id} />;
  const props = { record, line, payload };
  if (line.type === "pass.started") return <CorrectPass record={record} line={line} said={payload as PassStarted} />;
  const Form = FORMS[line.type];
  return Form ? <Form {...props} /> : <Gone record_id={record.record_id} />;
}

/** Replaced or taken back meanwhile: on to what holds now. */
function Gone({ record_id }: { record_id: string }) {
  useEffect(() => go("case", record_id, "entries"), []);
  return <p role="status">{t.course.entries.takenBack}</p>;
}

interface Props { record: RecordDocument; line: HistoryLine; payload: object }

function CorrectOpening({ record, line, payload }: Props) {
  const before = payload as ProcedureOpened;
  const { form, set, clear } = useForm<OpeningForm>(line, record, () => openingForm(before));
  const part = (change: Partial<OpeningForm>) => set({ ...form, ...change });
  const whole = missing(form, form.operator).length === 0;
  const { chart_number, second_identifier, ...rest } = openingSaid(form, form.operator);
  // A time that was not touched stays to the millisecond.
  const consent = rest.consent && before.consent && openingForm(before).consent_at === form.consent_at ? { ...rest.consent, at: before.consent.at } : rest.consent;
  const next = whole ? { ...before, ...rest, consent, patient: { chart_number, second_identifier } } : null;
  return (
    <Frame record={record} line={line} next={next} clear={clear}>
      <div class="two"><Needed form={form} set={part} operator={form.operator} /><Further open form={form} set={part} operator={form.operator} /></div>
    </Frame>
  );
}

function CorrectTime({ record, line, payload }: Props) {
  const before = payload as LaserEmitted;
  const { form, set, clear } = useForm<TimeForm>(line, record, () => ({
    seconds: { raw: split(before.laser_on_time).value, unit: "s", sure: true }, pulses: before.pulses === null ? "" : String(before.pulses), source: before.source,
  }));
  const read = readTime(form);
  // The timer gave the first time; of another one somebody has to say how it is known.
  const own = before.source === "timer" && (read === null || read.seconds === split(before.laser_on_time).value);
  const unsaid = form.source === "timer" && !own;
  const next = read && !unsaid ? { ...before, laser_on_time: `${read.seconds} s`, source: read.source, pulses: read.pulses } : null;
  return <Frame record={record} line={line} next={next} clear={clear}><TimeFields form={form} set={set} timer={own} wrong={unsaid ? t.case.sourceNeeded : undefined} /></Frame>;
}

function CorrectText({ record, line, payload }: Props) {
  const name = line.type === "procedure.noted" ? "text" : "reason";
  const before = (payload as Record<string, string | null>)[name] ?? "";
  const { form, set, clear } = useForm<{ text: string }>(line, record, () => ({ text: before }));
  const text = form.text.trim();
  return (
    <Frame record={record} line={line} next={name === "text" && !text ? null : { ...payload, [name]: text || null }} clear={clear}>
      <TextField id="correct-text" label={name === "text" ? t.case.note : t.course.pause.reason} long value={form.text} onChange={(value) => set({ text: value })} spell />
    </Frame>
  );
}

function CorrectHandOver({ record, line, payload }: Props) {
  const before = payload as ProcedureHandedOver;
  const { form, set, clear } = useForm<ProcedureHandedOver>(line, record, () => before);
  const words = t.course.handOver;
  const people = house.value.people.map((p) => ({ value: p.person_id, text: p.display_name }));
  return (
    <Frame record={record} line={line} next={form.from_id === form.to_id ? null : { ...form, note: form.note?.trim() || null }} clear={clear}>
      <Choice id="correct-role" legend={words.role} value={form.role} options={Object.entries(words.roles).map(([value, text]) => ({ value, text }))}
        onChange={(role) => set({ ...form, role: role as ProcedureHandedOver["role"] })} />
      <Select id="correct-from" label={words.from} value={form.from_id} options={people} onChange={(from_id) => set({ ...form, from_id })} />
      <Select id="correct-to" label={words.to} value={form.to_id} options={people} onChange={(to_id) => set({ ...form, to_id })} />
      <TextField id="correct-note" label={words.note} value={form.note ?? ""} onChange={(note) => set({ ...form, note })} max={300} spell />
    </Frame>
  );
}

function CorrectProtection({ record, line, payload }: Props) {
  const { form, set, clear } = useForm<ProtectionForm>(line, record, () => protectionForm(payload as ProtectionNoted));
  return <Frame record={record} line={line} next={good(form) ? saidBy(form) : null} clear={clear}><ProtectionFields form={form} set={set} /></Frame>;
}

function CorrectOutcome({ record, line, payload }: Props) {
  const before = payload as ProcedureEnded;
  const { form, set, clear } = useForm<OutcomeForm>(line, record, () =>
    Object.fromEntries(Object.entries(before.outcome).map(([name, text]) => [name, text ?? ""])));
  return <Frame record={record} line={line} next={{ ...before, outcome: outcomeOf(form) }} clear={clear}><OutcomeFields form={form} set={set} /></Frame>;
}

const FORMS: Readonly<Record<string, (props: Props) => ReturnType<typeof CorrectOpening>>> = {
  "procedure.opened": CorrectOpening,
  "laser.emitted": CorrectTime,
  "procedure.noted": CorrectText,
  "procedure.paused": CorrectText,
  "procedure.handed_over": CorrectHandOver,
  "protection.noted": CorrectProtection,
  "procedure.ended": CorrectOutcome,
};

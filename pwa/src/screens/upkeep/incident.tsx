import { useSignal } from "@preact/signals";
import { newId } from "../../events/ids";
import { Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { Choice, Select, TextField } from "../../parts/fields";
import { draft } from "../../session/draft";
import { house, personName } from "../../session/house";
import { may } from "../../session/rights";
import { openRecords, person, seat, writing } from "../../session/state";
import { assessIncident, closeIncident, reopenIncident, setAction, type Action, type Incident } from "../../session/upkeep";
import type { Mark as Said } from "../../session/upkeep-fold";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { DayField, dayText } from "../day";
import { today } from "../register/form";
import { go, href } from "../route";
import { IncidentMark, titleOf } from "./mark";

const said = (one: Said): string => [personName(one.by), momentText(one.at)].filter(Boolean).join(", ");

/** One incident: what happened, whether it is to be reported, what is done so that it does not happen again, its end. */
export function OneIncident({ incident }: { incident: Incident }) {
  const w = t.upkeep;
  const open = incident.status === "open";
  const settles = may("incident.settle");
  return (
    <div class="page">
      <h1>{titleOf(incident)}</h1>
      <p class="row"><IncidentMark incident={incident} /></p>
      {open && (incident.harm !== "none" || incident.kind === "eye_exposure") ? <Notice shape="warn"><p>{w.seen}</p></Notice> : null}
      <div class="two">
        <div class="stack">
          <Facts incident={incident} />
          {open && settles ? null : <ActionList incident={incident} />}
          <History incident={incident} />
        </div>
        <div class="stack">
          {openRecords.value.some((one) => one.record_id === incident.record_id) ? <a class="button main" href={href("case", incident.record_id!)} data-testid="incident-case">{w.toCase}</a> : null}
          {open && settles ? <><Assess incident={incident} /><Actions incident={incident} /><Close incident={incident} /></> : null}
          {!open && settles ? <Reopen incident={incident} /> : null}
          {open && may("incident.write") ? <Press id="incident-change" disabled={!writing.value} onPress={() => go("practice", "incidents", incident.incident_id, "change")}>{w.correct}</Press> : null}
          {incident.device_id ? <a class="button" href={href("practice", "service", incident.device_id)}>{t.service.title}</a> : null}
          {incident.record_id && may("record.read") ? <a class="button" href={href("records", incident.record_id)} data-testid="incident-record">{w.record}</a> : null}
          <a class="button quiet" href={href("practice", "incidents")}>{w.incidents}</a>
        </div>
      </div>
    </div>
  );
}

function Facts({ incident }: { incident: Incident }) {
  const w = t.upkeep;
  const laser = house.value.devices.find(({ device_id }) => device_id === incident.device_id)?.label;
  const decision = incident.decisions.at(-1);
  const rows: [string, string | null | undefined][] = [
    [w.what, incident.what], [w.atOnce, incident.done_at_once], [w.harm, w.harms[incident.harm]], [w.people, incident.people.map(({ role }) => w.roles[role]).join(", ")],
    [w.laser, laser && incident.device_taken_out ? `${laser} (${w.takenOut})` : laser], [w.settings, incident.settings_text],
    [w.reportable, decision ? [w.decisions[decision.reportable], decision.reasons].join(": ") : null], [w.citation, decision?.citation], [w.toWhom, decision?.to_whom],
    [w.reportBy, decision?.report_by ? dayText(decision.report_by) : null], [w.reportedOn, decision?.reported_on ? dayText(decision.reported_on) : null],
    [w.recorded, said(incident)],
  ];
  return <dl class="facts" data-testid="incident-facts">{rows.filter(([, value]) => value).map(([name, value]) => [<dt key={name}>{name}</dt>, <dd key={`${name}-value`}>{value}</dd>])}</dl>;
}

function History({ incident }: { incident: Incident }) {
  const w = t.upkeep;
  const lines = [
    ...incident.decisions.map((one) => ({ one: one as Said, text: `${w.assessed}: ${w.decisions[one.reportable]}`, more: [one.reasons, one.reported_on ? `${w.reportedOn} ${dayText(one.reported_on)}` : null] })),
    ...incident.turns.map((one) => ({ one: one as Said, text: [one.turn === "closed" ? w.closed : w.reopened, one.text].filter(Boolean).join(": "), more: [] })),
  ].sort((a, b) => Date.parse(b.one.at) - Date.parse(a.one.at));
  if (lines.length === 0) return null;
  return (
    <section class="stack"><h2>{t.registers.happened}</h2>
      <ul class="list" data-testid="incident-history">{lines.map(({ one, text, more }) => <li key={one.event_id} class="item"><span class="grow"><span>{text}</span>{more.map((line) => (line ? <span key={line} class="small">{line}</span> : null))}<span class="small soft">{said(one)}</span></span></li>)}</ul></section>
  );
}

interface Decision { reportable: string; reasons: string; citation: string; to_whom: string; report_by: string; reported_on: string; key: string }

/** Whether it has to be reported: a decision with reasons, on whose word is the practice's to say. */
function Assess({ incident }: { incident: Incident }) {
  const w = t.upkeep;
  const last = incident.decisions.at(-1);
  const kept = draft<Decision | null>(`incident-assess:${person.value!.person_id}:${incident.incident_id}`, null);
  const tried = useSignal(false);
  const form = kept.value.value ?? {
    reportable: last?.reportable ?? "", reasons: last?.reasons ?? "", citation: last?.citation ?? "", to_whom: last?.to_whom ?? "",
    report_by: last?.report_by ?? "", reported_on: last?.reported_on ?? "", key: newId(),
  };
  const set = (part: Partial<Decision>) => kept.set({ ...form, ...part, key: newId() });
  const yes = form.reportable === "yes";
  const ahead = form.reported_on !== "" && form.reported_on > today();
  const lacks = !form.reportable || !form.reasons.trim() || ahead;
  const save = () => {
    tried.value = true;
    if (lacks) return;
    const { reportable } = form;
    void attempt(() => assessIncident(incident.incident_id, {
      reportable, reasons: form.reasons.trim(), citation: form.citation.trim() || null,
      to_whom: yes ? form.to_whom.trim() || null : null, report_by: yes ? form.report_by || null : null, reported_on: yes ? form.reported_on || null : null,
    }, form.key)).then((held) => { if (held) { kept.clear(); tried.value = false; } });
  };
  return (
    <form class="sheet" data-testid="incident-assess" onSubmit={(event) => { event.preventDefault(); save(); }}>
      <h2>{w.reportable}</h2>
      <p class="small soft">{w.reportableLead}</p>
      <Choice id="assess-reportable" legend={w.decision} value={form.reportable} wrong={tried.value && !form.reportable ? w.wrong.choose : undefined}
        onChange={(reportable) => set({ reportable })} options={Object.entries(w.decisions).map(([value, text]) => ({ value, text }))} />
      <TextField id="assess-reasons" label={w.reasons} long spell max={4000} value={form.reasons} wrong={tried.value && !form.reasons.trim() ? w.wrong.missing : undefined} onChange={(reasons) => set({ reasons })} />
      <TextField id="assess-citation" label={w.citation} hint={w.citationHint} max={400} value={form.citation} onChange={(citation) => set({ citation })} />
      {yes ? <>
        <TextField id="assess-to" label={w.toWhom} max={400} value={form.to_whom} onChange={(to_whom) => set({ to_whom })} />
        <DayField id="assess-by" label={w.reportBy} value={form.report_by} onChange={(report_by) => set({ report_by })} />
        <DayField id="assess-on" label={w.reportedOn} hint={w.reportedHint} value={form.reported_on} wrong={ahead ? w.wrong.ahead : undefined} onChange={(reported_on) => set({ reported_on })} />
      </> : null}
      <Press id="assess-save" kind="main" submit disabled={busy.value || !writing.value} onPress={() => undefined}>{w.noteDecision}</Press>
    </form>
  );
}

function Actions({ incident }: { incident: Incident }) {
  const w = t.upkeep;
  return (
    <section class="sheet" data-testid="incident-actions"><h2>{w.actions}</h2>
      <ul class="list">{incident.actions.map((one) => <OneAction key={one.action_id} incident_id={incident.incident_id} action={one} />)}</ul>
      <NewAction incident_id={incident.incident_id} />
    </section>
  );
}

/** The same to whoever only reads them, and once it is closed. */
function ActionList({ incident }: { incident: Incident }) {
  if (incident.actions.length === 0) return null;
  return (
    <section class="stack" data-testid="incident-actions-read"><h2>{t.upkeep.actions}</h2>
      <ul class="list">{incident.actions.map((one) => <li key={one.action_id} class="item"><ActionText action={one} /></li>)}</ul></section>
  );
}

function ActionText({ action: { what, who_id, by_day, done_on } }: { action: Action }) {
  const w = t.upkeep;
  return (
    <span class="grow"><span>{what}</span>
      <span class="small soft">{[personName(who_id), by_day ? w.byDay(dayText(by_day)) : null].filter(Boolean).join(", ")}</span>
      {done_on ? <Mark shape="done">{w.doneOn(dayText(done_on))}</Mark> : <Mark shape="wait">{w.points.action_open}</Mark>}</span>
  );
}

function OneAction({ incident_id, action }: { incident_id: string; action: Action }) {
  const w = t.upkeep;
  const { action_id, what, who_id, by_day, done_on } = action;
  const note = (day: string | null) => void attempt(() => setAction(incident_id, { action_id, what, who_id, by_day, done_on: day }));
  return (
    <li class="item" data-testid="incident-action">
      <ActionText action={action} />
      {done_on
        ? <Press id="action-undone" kind="quiet" disabled={busy.value || !writing.value} onPress={() => note(null)}>{w.notDone}</Press>
        : <Press id="action-done" disabled={busy.value || !writing.value} onPress={() => note(today())}>{w.done}</Press>}
    </li>
  );
}

function NewAction({ incident_id }: { incident_id: string }) {
  const w = t.upkeep;
  const empty = { what: "", who_id: "", by_day: "", id: "" };
  const kept = draft(`incident-action:${person.value!.person_id}:${incident_id}`, empty);
  const tried = useSignal(false);
  const form = kept.value.value;
  const set = (part: Partial<typeof empty>) => kept.set({ ...form, ...part, id: newId() });
  const save = () => {
    tried.value = true;
    if (!form.what.trim()) return;
    void attempt(() => setAction(incident_id, { action_id: form.id, what: form.what.trim(), who_id: form.who_id || null, by_day: form.by_day || null, done_on: null }, form.id))
      .then((held) => { if (held) { kept.clear(); tried.value = false; } });
  };
  return (
    <form class="stack" onSubmit={(event) => { event.preventDefault(); save(); }}>
      <TextField id="action-what" label={w.action} long spell max={2000} value={form.what} wrong={tried.value && !form.what.trim() ? w.wrong.missing : undefined} onChange={(what) => set({ what })} />
      <Select id="action-who" label={w.who} value={form.who_id} onChange={(who_id) => set({ who_id })}
        options={[{ value: "", text: t.common.notStated }, ...house.value.people.map((one) => ({ value: one.person_id, text: one.display_name }))]} />
      <DayField id="action-by" label={w.until} value={form.by_day} onChange={(by_day) => set({ by_day })} />
      <Press id="action-save" submit disabled={busy.value || !writing.value} onPress={() => undefined}>{w.addAction}</Press>
    </form>
  );
}

/** Closed only where nothing stands open; else it says what does. */
function Close({ incident }: { incident: Incident }) {
  const w = t.upkeep;
  const points = incident.open_points;
  return (
    <Ending id="incident-close" incident_id={incident.incident_id} title={w.close} label={w.conclusion} go={w.closeNow} disabled={points.length > 0}
      lead={points.length > 0 ? w.notYet(points.map((one) => w.points[one]).join("; ")) : w.closeLead}
      say={(conclusion, key) => closeIncident(incident.incident_id, { conclusion }, key)} />
  );
}

function Reopen({ incident }: { incident: Incident }) {
  const w = t.upkeep;
  return <Ending id="incident-reopen" incident_id={incident.incident_id} title={w.reopen} label={w.reasons} go={w.reopenNow} disabled={false} lead={w.reopenLead} say={(reason, key) => reopenIncident(incident.incident_id, { reason }, key)} />;
}

function Ending({ id, incident_id, title, label, lead, go: goText, disabled, say }: {
  id: string; incident_id: string; title: string; label: string; lead: string; go: string; disabled: boolean; say: (text: string, key: string) => Promise<void>;
}) {
  const kept = draft(`${id}:${person.value!.person_id}:${incident_id}`, { text: "", key: "" });
  const { text, key } = kept.value.value;
  const tried = useSignal(false);
  const save = () => {
    tried.value = true;
    if (disabled || !text.trim()) return;
    void attempt(() => say(text.trim(), key)).then((held) => { if (held) kept.clear(); });
  };
  return (
    <form class="sheet" data-testid={id} onSubmit={(event) => { event.preventDefault(); save(); }}>
      <h2>{title}</h2>
      <p class="small soft">{lead}</p>
      {disabled ? null : <TextField id={`${id}-text`} label={label} long spell max={4000} value={text} wrong={tried.value && !text.trim() ? t.upkeep.wrong.missing : undefined} onChange={(next) => kept.set({ text: next, key: newId() })} />}
      <Press id={`${id}-go`} submit disabled={disabled || busy.value || !writing.value} onPress={() => undefined}>{goText}</Press>
      {seat.value === "desk" ? null : <p class="small soft">{t.upkeep.offline}</p>}
    </form>
  );
}

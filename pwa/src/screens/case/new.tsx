import { Notice, Press } from "../../parts/basics";
import { Select, TextField, Tick } from "../../parts/fields";
import { house } from "../../session/house";
import { openCase } from "../../session/commands";
import { draft } from "../../session/draft";
import { person, writing } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { settingsText } from "../facts";
import { planDraft } from "../plan/plan";
import { compose } from "../plan/form";
import { go } from "../route";

interface Form {
  chart: string; initials: string; kind: string; text: string; site: string; indication: string; why: string;
  operator: string; supervising: string; assistant: string; consent: boolean; anaesthesia: string; alerts: boolean;
}

const EMPTY: Form = {
  chart: "", initials: "", kind: "", text: "", site: "", indication: "", why: "", operator: "", supervising: "",
  assistant: "", consent: false, anaesthesia: "", alerts: false,
};
const OTHER = "other";

/** Patient, procedure and people; the settings were planned before. */
export function NewCase() {
  const who = person.value!;
  const kept = draft<Form>(`new-case:${who.person_id}`, EMPTY);
  const plan = planDraft(null);
  if (!kept.ready.value || !plan.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const clinicians = house.value.people.filter((p) => p.roles.includes("clinician"));
  const form = kept.value.value;
  const operator = form.operator || (who.roles.includes("clinician") ? who.person_id : clinicians.length === 1 ? clinicians[0]!.person_id : "");
  const device = house.value.devices.find((d) => d.device_id === plan.value.value.device_id) ?? null;
  const settings = compose(plan.value.value, device).settings;
  const set = (part: Partial<Form>) => kept.set({ ...form, ...part });
  const kind = house.value.kinds.find((k) => k.procedure_kind_id === form.kind);
  const text = kind ? kind.text : form.text.trim();
  const missing = !form.chart.trim() || !form.initials.trim() || !text || !form.site.trim() || !form.indication.trim() || !operator;
  const open = () => void attempt(async () => {
    const record_id = await openCase({
      chart_number: form.chart.trim(), second_identifier: form.initials.trim(),
      procedure: { procedure_kind_id: kind?.procedure_kind_id ?? null, text, code: kind?.code ?? null },
      site: form.site.trim(), indication: form.indication.trim(), why_laser: form.why.trim() || null,
      operator_id: operator, supervising_id: form.supervising || null, assistant_ids: form.assistant ? [form.assistant] : [],
      room: house.value.place?.rooms?.find((r) => r.room_id === device?.room_id)?.name ?? null,
      consent_by: form.consent ? operator : null, anaesthesia: form.anaesthesia.trim() || null, alerts_reviewed: form.alerts,
      device_id: plan.value.value.device_id, handpiece_id: plan.value.value.handpiece_id, mode: settings.emission["mode"] ?? "",
    });
    // The plan goes along with the case; the forms are empty for the next patient.
    const forCase = planDraft(record_id);
    forCase.set(plan.value.value);
    kept.clear();
    plan.clear();
    go("case", record_id);
  });
  const people = (list: typeof clinicians, none: boolean) =>
    [...(none ? [{ value: "", text: t.case.nobody }] : [{ value: "", text: t.case.pickProcedure }]), ...list.map((p) => ({ value: p.person_id, text: p.display_name }))];
  return (
    <form class="page" onSubmit={(e) => { e.preventDefault(); if (!missing) open(); }}>
      <h1>{t.case.newTitle}</h1>
      <Notice calm id="planned"><p class="num strong">{settingsText(settings)}</p><p class="small">{device?.label}</p></Notice>
      <div class="two">
        <div class="stack">
          <TextField id="chart-number" label={t.case.chart} value={form.chart} onChange={(chart) => set({ chart })} hint={t.case.minimal} max={40} />
          <TextField id="second-identifier" label={t.case.initials} value={form.initials} onChange={(initials) => set({ initials })} max={40} />
          <Select id="procedure-kind" label={t.case.procedure} value={form.kind} onChange={(value) => set({ kind: value })}
            options={[{ value: "", text: t.case.pickProcedure }, ...house.value.kinds.map((k) => ({ value: k.procedure_kind_id, text: k.code ? `${k.text} (${k.code})` : k.text })), { value: OTHER, text: t.case.otherProcedure }]} />
          {form.kind === OTHER ? <TextField id="procedure-text" label={t.case.procedureText} value={form.text} onChange={(value) => set({ text: value })} max={200} spell /> : null}
          <TextField id="site" label={t.case.site} value={form.site} onChange={(site) => set({ site })} max={200} />
          <TextField id="indication" label={t.case.indication} value={form.indication} onChange={(indication) => set({ indication })} max={500} spell />
        </div>
        <div class="stack">
          <Select id="operator" label={t.case.operator} value={operator} onChange={(value) => set({ operator: value })} options={people(house.value.people.filter((p) => p.roles.includes("clinician")), false)} />
          <Select id="assistant" label={t.case.assistant} value={form.assistant} onChange={(assistant) => set({ assistant })} options={people(house.value.people.filter((p) => p.person_id !== operator), true)} />
          <Select id="supervising" label={t.case.supervising} value={form.supervising} onChange={(supervising) => set({ supervising })} options={people(clinicians.filter((p) => p.person_id !== operator), true)} />
          <Tick id="consent" checked={form.consent} onChange={(consent) => set({ consent })}>{t.case.consent}</Tick>
          <Tick id="alerts" checked={form.alerts} onChange={(alerts) => set({ alerts })}>{t.case.alerts}</Tick>
          <TextField id="anaesthesia" label={t.case.anaesthesia} value={form.anaesthesia} onChange={(anaesthesia) => set({ anaesthesia })} max={300} />
          <TextField id="why-laser" label={t.case.whyLaser} value={form.why} onChange={(why) => set({ why })} max={500} spell />
          {missing ? <p class="small soft" data-testid="open-case-needs">{t.case.needs} {t.case.chart}, {t.case.initials}, {t.case.procedure}, {t.case.site}, {t.case.indication}, {t.case.operator}.</p> : null}
          <Press id="case-open" kind="main" large wide disabled={missing || busy.value || !writing.value} onPress={open}>{t.case.open}</Press>
        </div>
      </div>
    </form>
  );
}

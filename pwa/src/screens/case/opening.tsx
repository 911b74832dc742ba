import { More } from "../../parts/dose";
import { Select, TextField, Tick, type Option } from "../../parts/fields";
import { house } from "../../session/house";
import { licenceOf } from "../../session/operators";
import { kinds } from "../../session/house_presets";
import type { Person } from "../../session/types";
import { t } from "../../text";
import { OTHER, type OpeningForm } from "./opening-form";
import { dayText } from "../day";
import { MomentField } from "./moment";

interface Props { form: OpeningForm; set: (part: Partial<OpeningForm>) => void; operator: string }

const options = (people: readonly Person[], none: string): Option[] =>
  [{ value: "", text: none }, ...people.map((p) => ({ value: p.person_id, text: p.display_name }))];
const clinicians = () => house.value.people.filter((p) => p.roles.includes("clinician"));

/** What has to be said before a case opens. */
export function Needed({ form, set, operator }: Props) {
  const offered = kinds.value.filter((k) => !k.retired || k.procedure_kind_id === form.kind);
  const licence = licenceOf(house.value.people.find((p) => p.person_id === operator) ?? {}, Date.now());
  return (
    <div class="stack">
      <div class="pair">
        <TextField id="chart-number" label={t.case.chart} value={form.chart} onChange={(chart) => set({ chart })} max={40} />
        <TextField id="second-identifier" label={t.case.initials} hint={t.case.initialsHint} value={form.initials} onChange={(initials) => set({ initials })} max={40} />
      </div>
      <p class="small soft">{t.case.minimal}</p>
      <Select id="procedure-kind" label={t.case.procedure} value={form.kind} onChange={(kind) => set({ kind })}
        options={[{ value: "", text: t.case.pickProcedure }, ...offered.map((k) => ({ value: k.procedure_kind_id, text: k.code ? `${k.text} (${k.code})` : k.text })), { value: OTHER, text: t.case.otherProcedure }]} />
      {form.kind === OTHER ? <TextField id="procedure-text" label={t.case.procedureText} value={form.text} onChange={(text) => set({ text })} max={200} spell /> : null}
      <TextField id="site" label={t.case.site} value={form.site} onChange={(site) => set({ site })} max={200} hint={t.opening.siteHint} />
      <div class="pair">
        <TextField id="tooth" label={t.opening.tooth} value={form.tooth} onChange={(tooth) => set({ tooth })} max={40} mode="numeric" />
        <Select id="quadrant" label={t.opening.quadrant} value={form.quadrant} onChange={(quadrant) => set({ quadrant })}
          options={[{ value: "", text: t.opening.noQuadrant }, ...Object.values(t.opening.quadrants).map((text) => ({ value: text, text }))]} />
      </div>
      <TextField id="indication" label={t.case.indication} value={form.indication} onChange={(indication) => set({ indication })} max={500} spell />
      <Select id="operator" label={t.case.operator} value={operator} onChange={(value) => set({ operator: value })} options={options(clinicians(), t.case.pickProcedure)} />
      {licence ? <p class="small soft" data-testid="operator-licence">{t.opening.licenceGood(licence.text, dayText(licence.expires_on))}</p> : null}
    </div>
  );
}

/** What may be said: folded away, so that opening stays quick. */
export function Further({ form, set, operator, open = false }: Props & { open?: boolean }) {
  const others = house.value.people.filter((p) => p.person_id !== operator && p.roles.some((role) => role === "assistant" || role === "clinician"));
  const assisting = (form.assistants ?? []).filter((id) => id !== operator);
  const toggle = (id: string, on: boolean) => set({ assistants: on ? [...assisting, id] : assisting.filter((one) => one !== id) });
  const rooms = house.value.place?.rooms ?? [];
  return (
    <div class="stack">
      <Tick id="consent" checked={form.consent} onChange={(consent) => set({ consent })}>{t.case.consent}</Tick>
      <Tick id="alerts" checked={form.alerts} onChange={(alerts) => set({ alerts })}>{t.case.alerts}</Tick>
      {assisting.length > 0 ? <p class="small" data-testid="assisting">{t.opening.assisting(assisting.map((id) => house.value.people.find((p) => p.person_id === id)?.display_name ?? t.common.unknownPerson).join(", "))}</p> : null}
      <More id="opening-more" title={t.opening.more} open={open}>
        <fieldset class="field" data-testid="assistants"><legend>{t.opening.assistants}</legend>
          <div class="choices">{others.map((p) => (
            <Tick key={p.person_id} id={`assistant-${p.initials.toLowerCase()}`} checked={assisting.includes(p.person_id)}
              onChange={(on) => toggle(p.person_id, on)}>{p.display_name}</Tick>))}</div>
        </fieldset>
        <Select id="supervising" label={t.case.supervising} value={form.supervising ?? ""} onChange={(supervising) => set({ supervising })}
          options={options(clinicians().filter((p) => p.person_id !== operator), t.case.nobody)} />
        <p class="small soft">{t.opening.supervisingHint}</p>
        <TextField id="others-present" label={t.opening.others} hint={t.opening.othersHint} value={form.others} onChange={(text) => set({ others: text })} max={200} spell />
        {rooms.length > 0 ? <Select id="room" label={t.case.room} value={form.room ?? ""} onChange={(room) => set({ room: room || null })}
          options={[{ value: "", text: t.common.notStated }, ...rooms.map((r) => ({ value: r.name, text: r.name }))]} /> : null}
        {form.consent ? (
          <>
            <Select id="consent-by" label={t.opening.consentBy} value={form.consent_by || operator} onChange={(by) => set({ consent_by: by })}
              options={options(house.value.people, t.case.pickProcedure)} />
            <MomentField id="consent-at" label={t.opening.consentAt} value={form.consent_at} onChange={(at) => set({ consent_at: at })} />
          </>
        ) : null}
        <TextField id="anaesthesia" label={t.case.anaesthesia} value={form.anaesthesia} onChange={(anaesthesia) => set({ anaesthesia })} max={300} spell />
        <TextField id="why-laser" label={t.case.whyLaser} value={form.why} onChange={(why) => set({ why })} max={500} spell />
      </More>
    </div>
  );
}

import { useSignal } from "@preact/signals";
import { Notice, Press } from "../../parts/basics";
import { house } from "../../session/house";
import { kindsOffered, presetDocument } from "../../session/house_presets";
import { openCase } from "../../session/commands";
import { draft } from "../../session/draft";
import { ownRecords, person, writing } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { settingsText } from "../facts";
import { casePlan, planDraft } from "../plan/drafts";
import { compose, type PlanForm } from "../plan/form";
import { go } from "../route";
import { accepted, against as againstOperator, AgainstOperator, OPERATOR } from "./operator";
import { Hindrances, hindrances, reasonNote, useText } from "./hindrances";
import { EMPTY, lastToday, missing, procedureOf, said, withDefaults, type OpeningForm } from "./opening-form";
import { Further, Needed } from "./opening";
import { isOut, overridden, OverridePin, OverrideReason, SERVICE } from "../service/override";

/** The form of a case that is not open yet: one for each person. */
export const openingDraft = (person_id: string) => draft<OpeningForm>(`opening:${person_id}`, EMPTY);

/** Patient, procedure and people; the settings were planned before. */
export function NewCase() {
  const who = person.value!;
  const kept = openingDraft(who.person_id);
  const plan = planDraft(null);
  const sure = useSignal(false);
  if (!kept.ready.value || !plan.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const last = lastToday(ownRecords.value, who.person_id, Date.now());
  const { device_id, handpiece_id } = plan.value.value;
  const device = house.value.devices.find((d) => d.device_id === device_id) ?? null;
  const settings = compose(plan.value.value, device).settings;
  const mode = settings.emission["mode"] ?? "";
  const filled = withDefaults(kept.value.value, {
    last, who, kind: kindOf(plan.value.value.preset), clinicians: house.value.people.filter((p) => p.roles.includes("clinician")),
  });
  const room = filled.room ?? house.value.place?.rooms?.find((r) => r.room_id === device?.room_id)?.name ?? null;
  const form: OpeningForm = { ...filled, room };
  // Only what somebody said is kept: what was filled in follows when another preset or person is chosen.
  const set = (part: Partial<OpeningForm>) => kept.set({ ...kept.value.value, ...part });
  const { operator } = form;
  const against = hindrances(handpiece_id);
  const about = againstOperator(operator, device_id, procedureOf(form).procedure_kind_id ?? null, Date.now());
  const out = isOut(device_id);
  const why = form.reasons[SERVICE] ?? "";
  const lacking = [...missing(form, operator), ...(out && !why.trim() ? [t.service.override.needed] : [])];
  const unsaid = against.filter((one) => !form.reasons[one.id]?.trim());
  const ready = lacking.length === 0 && unsaid.length === 0 && (about.length === 0 || Boolean(form.reasons[OPERATOR]?.trim()));
  const opened = async () => {
    const record_id = await openCase({ ...said(form, operator), device_id, handpiece_id, mode },
      against.map((one) => reasonNote(one, form.reasons[one.id]!)), accepted(operator, about, form.reasons[OPERATOR] ?? ""), overridden(device_id, why));
    // The plan goes along with the case; the forms are empty for the next patient.
    casePlan(record_id).set(plan.value.value);
    kept.clear();
    plan.clear();
    go("case", record_id);
  };
  // With a laser that is out of service it takes a second step and the PIN.
  const open = () => { if (out) sure.value = true; else void attempt(opened); };
  const taken = last ? [name(last.operator_id), ...last.assistant_ids.map(name), last.room].filter(Boolean).join(", ") : "";
  if (sure.value && out && ready) return <OverridePin device_id={device_id} reason={why.trim()} onBack={() => { sure.value = false; }} onPin={opened} />;
  return (
    <form class="page" onSubmit={(e) => { e.preventDefault(); if (ready) open(); }}>
      <h1>{t.case.newTitle}</h1>
      <Notice calm id="planned"><p class="num strong">{settingsText(settings)}</p>
        <p class="small">{device?.label}, {house.value.handpieces.find((h) => h.handpiece_id === handpiece_id)?.label}, <span data-testid="use-count">{useText(handpiece_id)}</span></p></Notice>
      <div class="two">
        <Needed form={form} set={set} operator={operator} />
        <div class="stack">
          <OverrideReason device_id={device_id} reason={why} onReason={(text) => set({ reasons: { ...form.reasons, [SERVICE]: text } })} />
          <AgainstOperator operator_id={operator} found={about} reason={form.reasons[OPERATOR] ?? ""} onReason={(why) => set({ reasons: { ...form.reasons, [OPERATOR]: why } })} />
          <Hindrances found={against} reasons={form.reasons} onReason={(id, why) => set({ reasons: { ...form.reasons, [id]: why } })} />
          <Further form={form} set={set} operator={operator} />
          {taken ? <p class="small soft" data-testid="taken-over">{t.opening.moreKept(taken)}</p> : null}
          {ready ? null : <p class="small soft" data-testid="open-case-needs">{t.case.needs} {[...lacking, ...(unsaid.length > 0 || (about.length > 0 && !form.reasons[OPERATOR]?.trim()) ? [t.opening.why] : [])].join(", ")}.</p>}
          <Press id="case-open" kind="main" large wide disabled={!ready || busy.value || !writing.value} onPress={open}>{out ? t.service.override.next : t.case.open}</Press>
        </div>
      </div>
    </form>
  );
}

const name = (id: string | null): string => house.value.people.find((p) => p.person_id === id)?.display_name ?? "";

/** The kind of procedure that a preset is for, as long as the practice offers it. */
function kindOf(preset: PlanForm["preset"]): string | null {
  const kind = preset && presetDocument(preset.preset_id)?.procedure_kind_id;
  return kindsOffered.value.some((one) => one.procedure_kind_id === kind) ? kind! : null;
}

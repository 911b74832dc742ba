import { Notice, Press } from "../../parts/basics";
import { Choice, Select, TextField } from "../../parts/fields";
import { publishPreset } from "../../session/commands_presets";
import { house, loadDeskRegisters } from "../../session/house";
import { kindsOffered } from "../../session/house_presets";
import { RIGHTS } from "../../session/rights";
import { person, seat, writing } from "../../session/state";
import type { Preset, PresetDocument, PresetDraft } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { PlanDose } from "../plan/dose";
import { PanelValues } from "../plan/fields";
import { emptyForm, withHandpiece, type PlanForm } from "../plan/form";
import { judge } from "../plan/judge";
import { planDraft } from "../plan/drafts";
import { go } from "../route";
import { AllPresets } from "./all";
import { contentOf, editing, formFrom, isNews, newForm, wrongName, type EditForm } from "./edit-form";
import { SideBySide } from "./side";

/** Make a preset, or the next version of one, with the fields of the plan. */
export function EditPreset({ known, draft }: { known: PresetDocument | null; draft: PresetDraft | null }) {
  const kept = editing(known?.preset_id ?? null);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const fresh = () => (known === null ? newForm() : formFrom(known, draft ?? (known as unknown as Preset), draft?.event_id ?? null));
  const stored = kept.value.value;
  // A draft that is taken up begins anew; what was typed before was about something else.
  const form = stored && (draft === null || stored.from_draft === draft.event_id) ? stored : fresh();
  const set = (part: Partial<EditForm>) => kept.set({ ...form, ...part });
  const laser = house.value.devices.find((d) => d.device_id === form.plan.device_id) ?? null;
  const judged = judge(form.plan, laser);
  const content = contentOf(form, judged.composed);
  const overtaken = known?.version != null && known.version !== form.base;
  const why = !form.plan.handpiece_id ? t.presets.wrong["tip"]! : judged.why ?? wrongName(form)
    ?? (isNews(form, content, known) ? null : t.presets.wrong["unchanged"]!);
  const number = (form.base ?? 0) + 1;
  const publish = () => void attempt(async () => {
    try {
      await publishPreset(form, content);
    } catch (error) {
      // A desk is told at once that somebody was first: get their values, so that both can be compared.
      if ((error as { code?: string }).code === "version_not_current" && seat.value === "desk") await loadDeskRegisters();
      throw error;
    }
  }).then((done) => { if (done) { kept.clear(); go("practice", "presets", form.preset_id); } });
  return (
    <div class="page plan">
      <h1>{known === null ? t.presets.newTitle : t.presets.changeTitle(form.name || known.name || "", number)}</h1>
      {overtaken ? (
        <Notice shape="warn" id="preset-overtaken" live>
          <p>{t.presets.overtaken(known!.version!)}</p>
          <SideBySide left={known as unknown as Preset} right={content} leftTitle={t.presets.current(known!.version!)} rightTitle={t.presets.draft} />
          <Press id="preset-go-on" onPress={() => set({ base: known!.version!, answers: known!.withdrawn?.event_id ?? null })}>{t.presets.goOnUpon(known!.version!)}</Press>
        </Notice>
      ) : null}
      <div class="two">
        <div class="stack">
          <Origin known={known} form={form} set={set} />
          <TextField id="preset-name" label={t.presets.name} hint={t.presets.nameHint} value={form.name} onChange={(name) => set({ name })}
            wrong={form.name === "" ? undefined : wrongName(form) ?? undefined} max={120} spell />
          <Select id="preset-procedure" label={t.presets.kind} value={form.kind} onChange={(kind) => set({ kind })}
            options={[{ value: "", text: t.presets.noKind }, ...kindsOffered.value.map((k) => ({ value: k.procedure_kind_id, text: k.text }))]} />
          <Place form={form} set={set} />
          {form.plan.handpiece_id ? <PanelValues form={form.plan} set={(plan) => set({ plan })} device={laser} missing={judged.composed.missing}
            limits={judged.limits} errors={judged.errors} outcome={judged.outcome} /> : null}
        </div>
        <div class="stack">
          {Object.keys(judged.limits).length > 0 ? <Notice shape="stop" id="limits"><strong>{t.plan.limits}</strong>{Object.values(judged.limits).map((text) => <p key={text}>{text}</p>)}</Notice> : null}
          <PlanDose form={form.plan} settings={judged.composed.settings} outcome={judged.outcome} />
          <TextField id="preset-note" label={t.presets.note} hint={t.presets.noteHint} value={form.note} onChange={(note) => set({ note })} long max={2000} spell />
          <Select id="preset-reviewer" label={t.presets.reviewer} value={form.reviewer} onChange={(reviewer) => set({ reviewer })} options={reviewers()} />
          <p class="small soft">{t.presets.reviewerHint} {t.presets.kept}</p>
          <div class="row">
            <Press id="preset-drop" kind="quiet" onPress={() => { kept.clear(); go("practice", "presets", ...(known ? [known.preset_id] : [])); }}>{t.presets.startOver}</Press>
            <AllPresets />
          </div>
          <p class="small soft">{t.common.caution}</p>
        </div>
      </div>
      <div class="plan-bar">
        <p class="small" data-testid="preset-why" role="status">{why ?? t.presets.publishLead}</p>
        <Press id="preset-publish" kind="main" large disabled={why !== null || overtaken || busy.value || !writing.value} onPress={publish}>{t.presets.publish(number)}</Press>
      </div>
    </div>
  );
}

interface PartProps { form: EditForm; set: (part: Partial<EditForm>) => void }

/** Values to begin with: those planned just now, or those of an earlier version. */
function Origin({ known, form, set }: PartProps & { known: PresetDocument | null }) {
  const planned = seat.value === "tablet" ? planDraft(null).value.value : emptyForm();
  const versions = known === null ? [] : [...known.versions].reverse();
  if (!planned.mode && versions.length < 2) return null;
  const take = (plan: PlanForm) => set({ plan: { ...plan, preset: null, preset_settings: null, from_pass: null } });
  return (
    <section class="stack" aria-label={t.presets.startFrom}>
      <h2>{t.presets.startFrom}</h2>
      <div class="row">
        {planned.mode ? <Press id="preset-from-plan" onPress={() => take(planned)}>{t.presets.fromPlan}</Press> : null}
        {versions.map((one) => <Press key={one.event_id} id={`preset-from-${one.version}`}
          onPress={() => take(formFrom(known!, one, form.from_draft).plan)}>{t.presets.fromVersion(one.version)}</Press>)}
      </div>
    </section>
  );
}

/** The laser and the tip that the values are for. */
function Place({ form, set }: PartProps) {
  const { devices, handpieces } = house.value;
  const tips = handpieces.filter((h) => h.device_id === form.plan.device_id);
  return (
    <>
      <Choice id="preset-laser" legend={t.plan.laser} value={form.plan.device_id} options={devices.map((d) => ({ value: d.device_id, text: d.label, under: d.serial }))}
        onChange={(device_id) => set({ plan: { ...emptyForm(), device_id } })} />
      {tips.length > 0 ? <Choice id="preset-tip" legend={t.plan.handpiece} value={form.plan.handpiece_id} options={tips.map((h) => ({ value: h.handpiece_id, text: h.label }))}
        onChange={(id) => { const tip = tips.find((h) => h.handpiece_id === id); if (tip) set({ plan: withHandpiece(form.plan, tip) }); }} /> : null}
    </>
  );
}

/** Who may answer for a preset. */
function reviewers(): { value: string; text: string }[] {
  const roles: readonly string[] = RIGHTS["preset.write"];
  const people = house.value.people.filter((p) => p.roles.some((role) => roles.includes(role)));
  const me = person.value!;
  return [...(people.some((p) => p.person_id === me.person_id) ? [] : [me]), ...people].map((p) => ({ value: p.person_id, text: p.display_name }));
}

import { doseOf } from "../../session/dosing";
import type { RecordDocument } from "../../session/fold";
import type { PassPlan } from "../../session/types";
import { show } from "../../parts/dose";
import { t } from "../../text";
import { basisText, settingParts, settingsText, shortName } from "../facts";
import { href } from "../route";
import { SavedMark } from "../saved";
import { OutMark } from "../service/mark";
import { Back } from "./views";

/** Always in sight: patient and procedure, the current settings with their dose, and what is saved. */
export function CaseHead({ record, plan }: { record: RecordDocument; plan: PassPlan | null }) {
  const pass = record.passes[record.passes.length - 1];
  // Another tip than the case was opened with is worth its place; the usual one is not.
  const other = pass?.handpiece && pass.handpiece.handpiece_id !== record.handpiece?.handpiece_id;
  return (
    <section class="case-head" aria-label={t.case.readBack}>
      <div class="line">
        <Whose record={record} />
        <span class="row base state">{pass ? <strong data-testid="case-pass">{t.case.pass(pass.number)}</strong> : null}{other ? <span class="small" data-testid="case-tip">{pass!.handpiece!.label}</span> : null} <SavedMark record_id={record.record_id} /></span>
      </div>
      <div class="line">
        <div class="settings" data-testid="case-settings" role="group" aria-label={t.case.settings}>
          {plan ? settingParts(plan.settings).map((p) => (
            <span key={p.field}><span class="name">{shortName(p.field, plan.settings)}</span>
              <span class="setting" data-testid={`setting-${p.field.replace(/_/g, "-")}`}>{p.value}<span class="unit-text"> {p.unit}</span></span></span>
          )) : <span class="soft">{t.case.noPass}</span>}
        </div>
        {plan ? <HeadDose record_id={record.record_id} plan={plan} /> : null}
      </div>
      <OutMark device_id={record.device?.device_id} id="case-out-of-service" />
    </section>
  );
}

function Whose({ record }: { record: RecordDocument }) {
  return <span class="who" data-testid="case-patient">{record.patient?.chart_number} {record.patient?.second_identifier} · {record.procedure?.text}, {record.site}</span>;
}

/** The same in little room, over a screen with settings of its own: whose case it is, what is in force, and the way back. */
export function CaseLine({ record, plan }: { record: RecordDocument; plan: PassPlan | null }) {
  const pass = record.passes[record.passes.length - 1];
  const tip = pass?.handpiece ?? record.handpiece;
  return (
    <section class="case-head" aria-label={t.case.readBack}>
      <div class="line"><Whose record={record} /><SavedMark record_id={record.record_id} /></div>
      <div class="line">
        <span class="small num" data-testid="case-in-force">{pass ? `${t.case.pass(pass.number)}: ` : ""}{plan ? settingsText(plan.settings) : t.case.noPass}{pass && tip ? `, ${tip.label}` : ""}</span>
        <Back record_id={record.record_id} />
      </div>
    </section>
  );
}

/** Its numbers open where there is room for what they rest on. */
function HeadDose({ record_id, plan }: { record_id: string; plan: PassPlan }) {
  const outcome = doseOf(plan.settings);
  if (!outcome.ok) return null;
  const { set, delivered } = outcome.response.dose;
  const names = ["irradiance_mean", "fluence_mean"].filter((name) => set[name]);
  const mode = plan.settings.emission["mode"] ?? "";
  return (
    <a class="small head-dose" href={href("case", record_id, "dose")} data-testid="case-dose">
      {names.map((name) => (
        <span key={name} class="num">{(t.case.short as Record<string, string>)[name]}: <strong>{show(name, set[name]!)}</strong>
          {delivered?.[name] ? <> / <strong>{show(name, delivered[name]!)}</strong></> : null}</span>
      ))}
      <span class="soft">{t.records.setBasis} / {basisText(plan.device_id, plan.handpiece_id, mode, Date.now())}</span>
      <span class="hidden-text">{t.course.views.dose}</span>
    </a>
  );
}

import { DosePanel, Inputs } from "../../parts/dose";
import { doseOf } from "../../session/dosing";
import { house } from "../../session/house";
import type { RecordDocument } from "../../session/fold";
import type { PassPlan } from "../../session/types";
import { t } from "../../text";
import { basisText, factsOf } from "../facts";
import { lastPass } from "./plan-now";
import { Back } from "./views";

interface Props { plan: PassPlan; laser_on_s: number; brief?: boolean }

/** The dose of the settings in force; each number opens. */
export function CaseDose({ plan, laser_on_s, brief = false }: Props) {
  const outcome = doseOf(laser_on_s > 0 ? { ...plan.settings, emission_time: `${laser_on_s} s` } : plan.settings);
  if (!outcome.ok) return null;
  return (
    <div class="sheet"><DosePanel brief={brief} response={outcome.response}
      basis={basisText(plan.device_id, plan.handpiece_id, plan.settings.emission["mode"] ?? "", Date.now())}
      facts={factsInForce(plan, laser_on_s)} /></div>
  );
}

const factsInForce = (plan: PassPlan, laser_on_s: number) => factsOf(plan.settings, {
  preset_settings: plan.preset_settings, spot_known: plan.spot_known, counted: laser_on_s > 0 ? `${laser_on_s} s` : undefined,
  handpiece: house.value.handpieces.find((one) => one.handpiece_id === plan.handpiece_id) ?? null,
});

/** What the numbers at the head of a case rest on: the settings in force with their origin, and their dose. */
export function HeadNumbers({ record, plan }: { record: RecordDocument; plan: PassPlan | null }) {
  const laser_on_s = lastPass(record)?.laser_on_s ?? 0;
  return (
    <div class="stack narrow" data-testid="head-numbers">
      <h1>{t.course.views.dose}</h1>
      {plan ? (
        <>
          <section class="sheet" aria-label={t.case.settings}><h2>{t.case.settings}</h2><Inputs facts={Object.values(factsInForce(plan, laser_on_s))} /></section>
          <CaseDose plan={plan} laser_on_s={laser_on_s} />
        </>
      ) : <p class="soft">{t.case.noPass}</p>}
      <p class="small soft">{t.case.caution}</p>
      <Back record_id={record.record_id} />
    </div>
  );
}

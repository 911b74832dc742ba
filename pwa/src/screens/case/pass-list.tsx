import type { RecordDocument, RecordPass } from "../../session/fold";
import type { Settings } from "../../session/types";
import { doseOf } from "../../session/dosing";
import { house } from "../../session/house";
import { factsFor, show } from "../../parts/dose";
import { type Basis, Rests } from "../../parts/rests";
import { localNumbers, t } from "../../text";
import { factsOf, settingsText } from "../facts";
import { planOfPass } from "./plan-now";
import { round } from "./timer";

/** One row for each pass: what was set, how long, where the time comes from, what it came to. */
export function PassList({ record }: { record: RecordDocument }) {
  if (record.passes.length === 0) return <p class="soft small">{t.case.noPass}</p>;
  return (
    <section class="stack" aria-label={t.records.passes}>
      <h2>{record.status === "draft" ? t.case.passes : t.records.passes}</h2>
      <ol class="list" data-testid="passes">
        {record.passes.map((pass) => (
          <li class="item" key={pass.pass_id} data-testid="pass">
            <div class="grow">
              <span class="strong num">{t.case.pass(pass.number)}: {settingsText(pass.settings as Settings)}</span>
              {pass.handpiece && pass.handpiece.handpiece_id !== record.handpiece?.handpiece_id ? <span class="small" data-testid="pass-tip">{pass.handpiece.label}</span> : null}
              <span class="small" data-testid="pass-time">{timeOf(pass)}</span>
              <span class="small num soft" data-testid="pass-dose">{doseOfPass(pass)}</span>
              {pass.preset ? <span class="small soft">{pass.preset.name}{pass.changed_from_preset ? `, ${t.plan.changed.toLowerCase()}` : ""}</span> : null}
              {record.status === "draft" ? null : <Rests id={`pass-${pass.number}`} basis={() => basisOf(record, pass)} />}
            </div>
          </li>
        ))}
      </ol>
    </section>
  );
}

/** What the numbers of a kept pass rest on: the settings it was done with, by the engine as it is now. */
function basisOf(record: RecordDocument, pass: RecordPass): Basis {
  const { settings, preset_settings, spot_known, handpiece_id } = planOfPass(record, pass);
  const counted = pass.laser_on_s > 0 ? `${round(pass.laser_on_s)} s` : undefined;
  const outcome = doseOf(counted ? { ...settings, emission_time: counted } : settings);
  if (!outcome.ok) return { of: [] };
  const { set, delivered } = outcome.response.dose;
  const names = ["irradiance_mean", "fluence_mean", "total_energy"].filter((name) => set[name]);
  const handpiece = house.value.handpieces.find((one) => one.handpiece_id === handpiece_id) ?? null;
  return {
    inputs: factsFor(names, factsOf(settings, { preset_settings, spot_known, counted, handpiece }), delivered !== null),
    of: names.map((name) => ({ name, label: t.results[name]!.label, formula: set[name]!.formula, sources: set[name]!.sources })),
  };
}

export function timeOf(pass: RecordPass): string {
  if (pass.laser_on.length === 0) return t.case.noTime;
  return `${t.records.seconds(localNumbers(`${round(pass.laser_on_s)}\u00a0s`))} (${pass.sources.map((s) => (t.case.sources[s] ?? s).toLowerCase()).join(", ")})`;
}

export function doseOfPass(pass: RecordPass): string {
  const two = (name: string) => {
    const set = pass.dose.set[name];
    const delivered = pass.dose.delivered?.[name];
    if (set == null) return null;
    const one = (value: number) => show(name, { value, unit: "", formula: "", sources: [] });
    return `${one(set)} ${t.records.setBasis}${delivered != null ? `, ${one(delivered)} ${pass.dose.basis === "design" ? t.dose.design.toLowerCase() : t.records.verifiedBasis}` : ""}`;
  };
  const energy = pass.total_energy_j;
  const joules = (value: number) => show("total_energy", { value, unit: "J", formula: "", sources: [] });
  return [
    two("irradiance_mean"), two("fluence_mean"),
    energy.set != null && energy.set > 0 ? `${joules(energy.set)} ${t.records.setBasis}${energy.delivered != null ? `, ${joules(energy.delivered)} ${t.records.verifiedBasis}` : ""}` : null,
  ].filter(Boolean).join(" · ");
}

import type { RecordDocument, RecordPass } from "../../session/fold";
import type { Settings } from "../../session/types";
import { show } from "../../parts/dose";
import { localNumbers, t } from "../../text";
import { settingsText } from "../facts";
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
            </div>
          </li>
        ))}
      </ol>
    </section>
  );
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

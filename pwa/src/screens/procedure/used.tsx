import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { show } from "../../parts/dose";
import { unbroken } from "../../parts/quantity";
import { may } from "../../session/rights";
import { allRecords, captureOnly, seat, status } from "../../session/state";
import { DOSES, usageOf, type Measure, type Usage, type UsageGroup } from "../../session/usage";
import { usageAtDesk, usageOnTablet } from "../../sync/presets";
import { localNumbers, t } from "../../text";
import { words } from "../attempt";

/** What signed records of this procedure used: said, never advised. */
export function UsedBefore({ procedure_kind_id }: { procedure_kind_id: string }) {
  const asked = useSignal<Usage | null>(null);
  const failed = useSignal<string | null>(null);
  const desk = seat.value === "desk";
  const allowed = may("record.read") && !captureOnly.value;
  const online = desk || status.value.online;
  useEffect(() => {
    if (!allowed || !online) return;
    (desk ? usageAtDesk : usageOnTablet)(procedure_kind_id).then(
      (answer) => { asked.value = answer as Usage | null; },
      // A tablet goes on with its own records; a desk has none.
      (error: unknown) => { if (desk) failed.value = words(error); });
  }, [procedure_kind_id, allowed, online]);
  if (!may("record.read")) return null;
  const own = desk ? null : usageOf(allRecords.value, procedure_kind_id);
  const usage = asked.value ?? own;
  return (
    <section class="stack" data-testid="used-before" aria-label={t.procedures.used}>
      <h2>{t.procedures.used}</h2>
      <p class="strong" data-testid="used-lead">{t.procedures.usedLead}</p>
      {!allowed ? <p class="small soft">{t.procedures.usedHidden}</p> : failed.value ? <p class="small" role="alert">{failed.value}</p>
        : usage === null ? <p role="status" class="small soft">{t.common.loading}</p> : <Figures usage={usage} local={asked.value === null} />}
      <p class="small soft">{t.procedures.usedHow}</p>
    </section>
  );
}

function Figures({ usage, local }: { usage: Usage; local: boolean }) {
  return (
    <>
      <p class="small" data-testid="used-from">{local ? t.procedures.onTablet(usage.records) : t.procedures.ofPractice(usage.records)}</p>
      {usage.groups.length === 0 ? <p class="soft" data-testid="used-none">{t.procedures.usedNone}</p> : null}
      {usage.groups.map((group) => <Group key={`${group.device_id} ${group.handpiece_id}`} group={group} />)}
    </>
  );
}

function Group({ group }: { group: UsageGroup }) {
  const names = Object.keys(DOSES) as (keyof typeof DOSES)[];
  return (
    <div class="sheet" data-testid="used-group">
      <h3>{t.procedures.group(group.device_label ?? group.device_id, group.handpiece_label ?? group.handpiece_id)}</h3>
      <p class="small soft">{t.procedures.groupCount(group.records, group.passes)}</p>
      <dl class="facts used">
        {names.filter((name) => group.set[name]).map((name) => [
          <dt key={name}>{t.procedures.measures[name]}</dt>,
          <dd key={`${name}-value`} class="small num" data-testid={`used-${name}`}>
            <span class="soft">{t.procedures.set}:</span> {measureText(name, group.set[name]!)}<br />
            <span class="soft">{t.procedures.delivered}:</span> {group.delivered[name] ? measureText(name, group.delivered[name]) : t.procedures.notMeasured}
          </dd>,
        ])}
        <dt>{t.procedures.measures["laser_on_time"]}</dt>
        <dd class="small num" data-testid="used-laser_on_time">{measureText("laser_on_time", group.laser_on_time)}</dd>
      </dl>
    </div>
  );
}

function measureText(name: string, measure: Measure): string {
  const text = (value: number) => (name === "laser_on_time" ? seconds(value)
    : show(name, { value, unit: measure.unit, formula: "", sources: [] }));
  return measure.values
    ? t.procedures.singles(measure.values.map(text).join("; "), measure.records)
    : t.procedures.median(text(measure.median!), text(measure.low), text(measure.high), measure.records);
}

/** As a laser's counter shows it: tenths of a second. */
const seconds = (value: number): string => unbroken(localNumbers(`${Number(value.toFixed(1))} s`));

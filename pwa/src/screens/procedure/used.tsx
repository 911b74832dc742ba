import { useSignal } from "@preact/signals";
import { Fragment } from "preact";
import { useEffect } from "preact/hooks";
import { dateText } from "../../parts/dates";
import { More, show } from "../../parts/dose";
import { statusText } from "../../parts/provenance";
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
    <div class="sheet" data-testid="used-group"><div class="stack both-box">
      <h3>{t.procedures.group(group.device_label ?? group.device_id, group.handpiece_label ?? group.handpiece_id)}</h3>
      <p class="small soft">{t.procedures.groupCount(group.records, group.passes)}</p>
      <table class="both">
        <thead><tr><th scope="col"><span class="hidden-text">{t.dose.result}</span></th><th scope="col">{t.procedures.set}</th><th scope="col">{t.procedures.delivered}</th></tr></thead>
        <tbody>
          {names.filter((name) => group.set[name]).map((name) => (
            <Fragment key={name}>
              <tr class="with-basis" data-testid={`used-${name}`}>
                <th scope="row">{t.procedures.measures[name]}</th>
                <Cell name={name} measure={group.set[name]!} />
                {group.delivered[name] ? <Cell name={name} measure={group.delivered[name]} /> : <td class="small soft">{t.procedures.notMeasured}</td>}
              </tr>
              <Basis name={name} group={group} set={group.set[name]!} delivered={group.delivered[name]} />
            </Fragment>
          ))}
          <tr class="with-basis" data-testid="used-laser_on_time">
            <th scope="row">{t.procedures.measures["laser_on_time"]}</th>
            <Cell name="laser_on_time" measure={group.laser_on_time} wide />
          </tr>
          <Basis name="laser_on_time" group={group} set={group.laser_on_time} />
        </tbody>
      </table>
    </div></div>
  );
}

/** The middle and the range, or the single values; always with how many records stand behind them. */
function Cell({ name, measure, wide = false }: { name: string; measure: Measure; wide?: boolean }) {
  const text = (value: number) => (name === "laser_on_time" ? seconds(value)
    : show(name, { value, unit: measure.unit, formula: "", sources: [] }));
  return (
    <td class={wide ? "small num wide" : "small num"} colSpan={wide ? 2 : 1}>
      <span class="middle">{measure.values ? measure.values.map(text).join("; ") : text(measure.median!)}</span>
      {measure.values ? t.procedures.singles(measure.records) : t.procedures.median(measure.records)}
      {measure.values ? null : <><br />{t.procedures.range(text(measure.low), text(measure.high))}</>}
    </td>
  );
}

interface BasisProps { name: string; group: UsageGroup; set: Measure; delivered?: Measure | undefined }

/** What a row opens to: how its numbers were had, from how much and from when, and what they are not. */
function Basis({ name, group, set, delivered }: BasisProps) {
  const said = t.procedures.basis;
  return (
    <tr class="basis"><td class="small wide" colSpan={3}>
      <More id={`used-${name}-basis`} title={said.title}>
        <p>{set.values ? said.singles : said.median}</p>
        <p>{said.counted(group.records, group.passes, dateText(group.first_at), dateText(group.last_at))}</p>
        {set.records < group.records ? <p>{said.known(set.records)}</p> : null}
        <p>{name === "laser_on_time" ? said.time : said.dose}</p>
        {delivered ? <p>{said.verified(delivered.records)}</p> : null}
        <p>{t.provenance.status}: {statusText("computed")}</p>
        <p class="strong">{said.notAdvice}</p>
      </More>
    </td></tr>
  );
}

/** As a laser's counter shows it: tenths of a second. */
const seconds = (value: number): string => unbroken(localNumbers(`${Number(value.toFixed(1))} s`));

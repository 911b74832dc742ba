import "../../styles/compare.css";
import { Press } from "../../parts/basics";
import { Choice } from "../../parts/fields";
import { house } from "../../session/house";
import { ownRecords, writing } from "../../session/state";
import { t } from "../../text";
import { CaseLine } from "../case/head";
import { currentPlan } from "../case/plan-now";
import { PassTimer, timedPass } from "../case/timer";
import { settingsText } from "../facts";
import { go } from "../route";
import { BothDrawn } from "./compare-drawings";
import { Differences, ratioText, Results } from "./compare-tables";
import { ratioOf } from "./comparison";
import { formFacts } from "./dose";
import { FIRST, FURTHER, type PlanForm } from "./form";
import { judge, type Judged } from "./judge";
import { pairDraft, planDraft, type SideName } from "./drafts";
import { SPOT_FIELDS } from "./spot-form";
import { Value } from "./value";
import { readAs, type ValueName } from "./values";

/** Two settings side by side: B begins as a copy of A, and one value is changed at a time. */
export function Compare({ record_id }: { record_id: string | null }) {
  const kept = pairDraft(record_id);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const pair = kept.value.value;
  const back = () => (record_id ? go("plan", record_id) : go("plan"));
  if (!pair.a || !pair.b) {
    return <div class="page narrow"><h1>{t.compare.title}</h1><p data-testid="compare-nothing">{t.compare.nothing}</p><Press id="compare-back" onPress={back}>{t.compare.back}</Press></div>;
  }
  const forms = { a: pair.a, b: pair.b };
  const judged = { a: judgeHere(pair.a), b: judgeHere(pair.b) };
  const use = (side: SideName) => { planDraft(record_id).set(forms[side]); kept.clear(); back(); };
  const record = ownRecords.value.find((r) => r.record_id === record_id);
  const closed = record_id !== null && record?.status !== "draft";
  return (<>
    {record ? <CaseLine record={record} plan={currentPlan(record, house.value.devices.find((d) => d.device_id === record.device?.device_id) ?? null)} /> : null}
    <div class="page plan compare">
      <h1>{t.compare.title}</h1>
      <p class="small">{t.compare.lead}</p>
      <div class="sides">
        {(["a", "b"] as const).map((side) => <Summary key={side} side={side} judged={judged[side]} />)}
      </div>
      <div class="two">
        <section class="sheet" aria-label={t.compare.change}>
          <Choice id="compare-side" across legend={t.compare.change} value={pair.side} options={(["a", "b"] as const).map((value) => ({ value, text: t.compare.sides[value] }))}
            onChange={(side) => kept.set({ ...pair, side: side as SideName })} />
          <Values key={pair.side} side={pair.side} form={forms[pair.side]} judged={judged[pair.side]} set={(form) => kept.set({ ...pair, [pair.side]: form })} />
          <div class="row">
            <Press id="compare-copy" onPress={() => kept.set({ ...pair, b: pair.a, side: "b" })}>{t.compare.copy}</Press>
            <Press id="compare-back" kind="quiet" onPress={back}>{t.compare.back}</Press>
          </div>
        </section>
        <div class="stack">
          <Differences a={judged.a} b={judged.b} tips={[tipOf(pair.a), tipOf(pair.b)]} />
          <Results a={judged.a} b={judged.b} facts={() => ({ a: formFacts(forms.a, judged.a.composed.settings), b: formFacts(forms.b, judged.b.composed.settings) })}
            basis={pair.basis} onBasis={(basis) => kept.set({ ...pair, basis })} />
          <BothDrawn a={judged.a} b={judged.b} />
        </div>
      </div>
      {record && timedPass(record) ? <PassTimer record={record} /> : <div class="plan-bar uses">
        <p class="small num" role="status" data-testid="compare-summary">{summary(judged.a, judged.b)}</p>
        {(["a", "b"] as const).map((side) => (
          <Press key={side} id={`compare-use-${side}`} kind={side === "b" ? "main" : "plain"} large disabled={closed || !writing.value} onPress={() => use(side)}>{t.compare.use(t.compare.sides[side])}</Press>
        ))}
      </div>}
    </div>
  </>);
}

/** What matters most of the table, where it stays in sight. */
function summary(a: Judged, b: Judged): string {
  if (!a.outcome?.ok || !b.outcome?.ok) return judgedWhy(a, b);
  const [one, two] = [a.outcome.response.dose.set, b.outcome.response.dose.set];
  const short = t.case.short as Record<string, string>;
  const parts = ["average_power", "irradiance_mean", "fluence_mean"].flatMap((name) => {
    const ratio = ratioOf(one[name]?.value, two[name]?.value);
    return ratio.kind === "none" ? [] : [`${short[name] ?? t.results[name]?.label} ${ratioText(ratio)}`];
  });
  return `${t.compare.ratio}: ${parts.join(" · ")}`;
}

const judgedWhy = (a: Judged, b: Judged): string => a.why ?? b.why ?? "";

function judgeHere(form: PlanForm): Judged {
  return judge(form, house.value.devices.find((d) => d.device_id === form.device_id) ?? null);
}

const tipOf = (form: PlanForm): string => house.value.handpieces.find((h) => h.handpiece_id === form.handpiece_id)?.label ?? "";

function Summary({ side, judged }: { side: SideName; judged: Judged }) {
  return (
    <section class="sheet" aria-label={t.compare.sides[side]} data-testid={`compare-${side}`}>
      <p class="num"><strong>{t.compare.sides[side]}</strong> {settingsText(judged.composed.settings)}</p>
      {judged.why ? <p class="small" role="status" data-testid={`compare-${side}-why`}>{t.compare.notUsable(t.compare.sides[side], judged.why)}</p> : null}
    </section>
  );
}

/** What a side has that a tap can change. */
function Values({ side, form, judged, set }: { side: SideName; form: PlanForm; judged: Judged; set: (form: PlanForm) => void }) {
  const device = house.value.devices.find((d) => d.device_id === form.device_id) ?? null;
  const { needed, optional } = SPOT_FIELDS[form.spot_form ?? "diameter"];
  const given = (name: ValueName) => readAs(form, name).kind !== "empty";
  const names = [...(FIRST[form.mode] ?? []), ...(FURTHER[form.mode] ?? []).filter(given), ...needed, ...optional.filter(given), "speed" as const];
  return (
    <>
      <h2>{t.compare.inputs} {t.compare.sides[side]}</h2>
      {names.map((name) => (
        <Value key={name} name={name} prefix={`compare-${side}`} form={form} set={set} device={device}
          missing={judged.composed.missing} limits={judged.limits} errors={judged.errors} />
      ))}
    </>
  );
}

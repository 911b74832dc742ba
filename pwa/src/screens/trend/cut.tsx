import "../../styles/trend.css";
import { Mark, Notice, Press } from "../../parts/basics";
import { CutDrawing } from "../../parts/drawings/cut";
import { Choice, TextField } from "../../parts/fields";
import { QuantityField, quantityText } from "../../parts/quantity";
import { type CutReference, noteCut } from "../../session/optics";
import { writing } from "../../session/state";
import type { Device, Settings } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { percent, settingsText } from "../facts";
import { go } from "../route";
import { cutDraft, type CutForm, freshCut, judgeCut, type JudgedCut, LENGTH_UNITS, millimetres, TIME_UNITS, withDepth } from "./form";
import { tipName } from "./names";

/** One test cut by a laser's set-up: step by step, then what was measured. */
export function RecordCut({ device, reference }: { device: Device; reference: CutReference }) {
  const w = t.trend;
  const kept = cutDraft(device.device_id);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const form = kept.value.value ?? freshCut(reference);
  const change = (part: Partial<CutForm>) => kept.set({ ...form, ...part });
  const judged = judgeCut(form, reference);
  const done = () => { kept.clear(); go("practice", "trend", device.device_id); };
  const save = () => void attempt(async () => { if (judged.payload) await noteCut(judged.payload, form.id); }).then((held) => { if (held) done(); });
  return (
    <div class="page">
      <h1>{w.cutTitle(device.label)}</h1>
      <Notice shape="warn"><p>{w.caution}</p></Notice>
      <div class="two">
        <div class="stack">
          <Steps reference={reference} />
          <CutDrawing id="cut-picture" />
        </div>
        <div class="stack">
          <section class="sheet">
            <QuantityField id="cut-length" label={w.length} typed={form.length} units={LENGTH_UNITS} onChange={(length) => change({ length })} />
            <QuantityField id="cut-time" label={w.time} typed={form.time} units={TIME_UNITS} onChange={(time) => change({ time })} />
            <h2>{w.depths}</h2>
            {form.depths.map((typed, n) => (
              <QuantityField key={n} id={`cut-depth-${n}`} label={w.depth(n + 1)} typed={typed} units={["mm"]} zero onChange={(next) => kept.set(withDepth(form, n, next))} />
            ))}
            <Choice id="cut-aiming" legend={w.aiming} value={form.aiming ?? ""} onChange={(aiming) => change({ aiming: aiming as CutForm["aiming"] })}
              options={Object.entries(w.aimingKinds).map(([value, text]) => ({ value, text }))} />
            {form.aiming === "fainter" ? <Mark shape="warn" id="cut-aiming-clean">{w.aimingClean}</Mark> : null}
            {form.aiming === "not seen" ? <Mark shape="stop" id="cut-aiming-stop">{w.aimingStop}</Mark> : null}
          </section>
          <Outcome judged={judged} />
          <TextField id="cut-note" label={w.note} long spell value={form.note} onChange={(note) => change({ note })} />
          {judged.lacks ? <p class="soft" data-testid="cut-lacks">{w.lacks[judged.lacks]}</p> : null}
          <Press id="cut-save" kind="main" large wide disabled={judged.payload === null || busy.value || !writing.value} onPress={save}>{w.cutSave}</Press>
          <Press id="cut-drop" kind="quiet" onPress={done}>{w.drop}</Press>
        </div>
      </div>
    </div>
  );
}

function Steps({ reference }: { reference: CutReference }) {
  const w = t.trend;
  return (
    <section class="sheet" aria-label={w.steps}>
      <h2>{w.steps}</h2>
      <ol class="steps" data-testid="cut-steps">
        <li>{w.step.lay(reference.stack, reference.wetness)}</li>
        <li>{w.step.set(settingsText(reference.settings as Settings), tipName(reference.handpiece_id))}</li>
        <li>{w.step.hold(quantityText(reference.distance))}</li>
        <li>{w.step.cut(quantityText(reference.cut_length), quantityText(reference.cut_time))}</li>
        <li>{w.step.off}</li>
      </ol>
    </section>
  );
}

function Outcome({ judged: { expected_m, ratio, relative } }: { judged: JudgedCut }) {
  const w = t.trend;
  return (
    <section class="sheet" aria-live="polite" data-testid="cut-outcome">
      <h2>{w.outcome}</h2>
      {expected_m === null ? null : <p class="num">{w.expected(quantityText(millimetres(expected_m)))}</p>}
      {ratio === null ? <p class="soft">{w.noOutcome}</p> : <p class="num"><strong data-testid="cut-ratio">{w.ratio(percent(String(ratio)))}</strong></p>}
      {relative === null ? null : <p class="num" data-testid="cut-relative">{w.relative(percent(String(relative)))}</p>}
      <p class="small soft">{w.expectedHow}</p>
      <p class="small strong">{w.neverWatts}</p>
    </section>
  );
}

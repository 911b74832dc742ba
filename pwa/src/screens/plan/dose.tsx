import { Notice } from "../../parts/basics";
import { DepthDrawing } from "../../parts/drawings/depths";
import { PulseDrawing } from "../../parts/drawings/pulses";
import { SpotDrawing } from "../../parts/drawings/spot";
import { DosePanel, differs, type Facts, factsFor, sentence, show } from "../../parts/dose";
import { Rests } from "../../parts/rests";
import type { DoseOutcome, DoseResponse } from "../../session/dosing";
import type { Settings } from "../../session/types";
import { house } from "../../session/house";
import { t } from "../../text";
import { basisText, factsOf, settingsText } from "../facts";
import type { PlanForm } from "./form";
import { PlanHeat } from "./heat";
import { beamOf, depthBands, emissionOf } from "./pictures";
import { spotFormOf } from "./spot-form";

/** The dose of what is typed so far, redrawn with every key. */
export function PlanDose({ form, settings, outcome }: { form: PlanForm; settings: Settings; outcome: DoseOutcome | null }) {
  const facts = formFacts(form, settings);
  const empty = !settings.emission["power"] && !settings.emission["pulse_energy"];
  return (
    <section class="sheet" aria-label={t.plan.dose}>
      <h2>{t.plan.dose}</h2>
      {outcome === null || empty ? <p class="soft" data-testid="dose-nothing">{t.dose.nothing}</p> : null}
      {outcome && !outcome.ok && !empty ? (
        <Notice shape="warn" id="dose-refused">{Object.entries(outcome.errors).map(([field, said]) => <p key={field}>{said.map(sentence).join(" ")}</p>)}</Notice>
      ) : null}
      {outcome?.ok && !empty ? (
        <>
          {outcome.response.contradictions.length > 0 ? (
            <Notice shape="warn" id="contradictions" live>
              <strong>{t.plan.contradiction}</strong>
              {outcome.response.contradictions.map((c) => <p key={JSON.stringify(c)}>{contradictionText(c)}</p>)}
            </Notice>
          ) : null}
          <DosePanel brief response={outcome.response} basis={basisText(form.device_id, form.handpiece_id, form.mode, Date.now())} facts={facts} />
          <Pictures settings={settings} response={outcome.response} />
          <Heat settings={settings} tissue={form.tissue} response={outcome.response} facts={facts} />
        </>
      ) : null}
    </section>
  );
}

/** The inputs of a form's dose, with where each came from. */
export function formFacts(form: PlanForm, settings: Settings): Facts {
  return factsOf(settings, {
    preset_settings: form.preset_settings, spot_known: form.spot_known, ...(form.tissue ? { tissue: form.tissue } : {}),
    handpiece: house.value.handpieces.find((h) => h.handpiece_id === form.handpiece_id) ?? null,
  });
}

/** Depths as bands and the simulation, where what was measured in the tissue can stand beside them. */
function Heat({ settings, tissue, response, facts }: { settings: Settings; tissue: string | undefined; response: DoseResponse; facts: Facts }) {
  const measured = response.dose.set["thermal_damage"];
  if (!tissue || measured?.low === undefined || measured.high === undefined || response.contradictions.length > 0) return null;
  const bands = depthBands(response);
  const side = response.dose.delivered ?? response.dose.set;
  return (
    <>
      <h3>{t.heat.depths}</h3>
      <DepthDrawing id="drawing-depths" bands={bands} />
      <Rests id="depths" basis={() => ({ of: bands.map(({ name }) => ({
        name, label: t.heat.bands[name] ?? name, formula: side[name]!.formula, sources: side[name]!.sources, inputs: factsFor([name], facts, differs(response.dose.set[name]!, side[name]!)),
      })) })} />
      <PlanHeat request={{ ...settings, tissue: { kind: tissue } }} measured_um={[measured.low, measured.high]}
        facts={factsFor(["irradiance_mean", "pulse_depth", "thermal_relaxation_time"], facts, side !== response.dose.set)} />
    </>
  );
}

/** Spot, beam and pulses to scale, redrawn with the numbers. */
function Pictures({ settings, response }: { settings: Settings; response: DoseResponse }) {
  // Where the beam is known its drawing stands beside the distance that is stepped.
  const beam = spotFormOf(settings.spot) === "diameter" ? beamOf(settings, response) : null;
  return (
    <div class="stack" data-testid="plan-drawings">
      {beam ? <><h3>{t.drawing.spot}</h3><SpotDrawing id="drawing-spot" beam={beam} /></> : null}
      <h3>{t.drawing.train}</h3>
      <PulseDrawing id="drawing-pulses" emission={emissionOf(settings, response)} />
    </div>
  );
}

/** Settings and dose in two lines, beside the button that uses them. */
export function DoseLine({ settings, response }: { settings: Settings; response: DoseResponse }) {
  const { set, delivered } = response.dose;
  const short = t.case.short as Record<string, string>;
  return (
    <p class="small num" data-testid="plan-summary">
      <strong>{settingsText(settings)}</strong>
      {["irradiance_mean", "fluence_mean"].filter((name) => set[name]).map((name) => (
        <span key={name}> · {short[name]} {show(name, set[name]!)}{delivered?.[name] ? ` ${t.records.setBasis} / ${show(name, delivered[name]!)} ${t.records.verifiedBasis}` : ""}</span>
      ))}
    </p>
  );
}

/** The engine's own sentence where it gives one. */
export function contradictionText(contradiction: unknown): string {
  if (typeof contradiction === "string") return contradiction;
  const { text, message, detail } = contradiction as { text?: string; message?: string; detail?: string };
  return sentence(text ?? message ?? detail ?? JSON.stringify(contradiction));
}

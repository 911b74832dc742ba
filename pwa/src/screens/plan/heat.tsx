/** A simulation of the settings, asked for by a tap: it takes a moment and is read with care. */
import { useEffect, useState } from "preact/hooks";
import { Notice } from "../../parts/basics";
import { type Fact, More } from "../../parts/dose";
import { HeatDrawing } from "../../parts/drawings/heat";
import type { HeatCurves } from "../../parts/drawings/heat-shapes";
import { Choice } from "../../parts/fields";
import { type Rested, Rests } from "../../parts/rests";
import { type HeatAnswer, type HeatResponse, simulated } from "../../session/heat";
import { t } from "../../text";

const DURATIONS = ["10 ms", "0.1 s", "1 s", "10 s"];
/** The band that was measured in oral tissue, in µm, as the dose states it beside every simulation. */
type Measured = readonly [number, number];

/** Mount with the request as key, so that another request starts afresh. */
export function PlanHeat({ request, measured_um, facts }: { request: object; measured_um: Measured; facts: readonly Fact[] }) {
  const [duration, setDuration] = useState("");
  return (
    <More id="plan-heat" title={t.heat.title}>
      <p class="small">{t.heat.model}</p>
      <Choice id="heat-duration" across legend={t.heat.duration} value={duration} onChange={setDuration}
        options={[{ value: "", text: t.heat.none }, ...DURATIONS.map((value) => ({ value, text: t.heat.durations[value] ?? value }))]} />
      {duration === "" ? null : <Simulation key={duration} request={request} duration={duration} measured_um={measured_um} facts={facts} />}
    </More>
  );
}

function Simulation({ request, duration, measured_um, facts }: { request: object; duration: string; measured_um: Measured; facts: readonly Fact[] }) {
  const [answer, setAnswer] = useState<HeatAnswer | "failed" | null>(null);
  const asked = JSON.stringify(request);
  useEffect(() => {
    setAnswer(null);
    const { answer: coming, leave } = simulated(JSON.parse(asked) as object, duration);
    coming.then(setAnswer, () => setAnswer("failed"));
    return leave;
  }, [asked, duration]);
  if (answer === null) return <p class="soft" data-testid="heat-working" aria-live="polite">{t.heat.working}</p>;
  if (answer === "failed") return <Notice shape="warn" id="heat-failed">{t.heat.failed}</Notice>;
  if (!answer.ok) return <Notice shape="warn" id="heat-refused">{t.heat.refused}</Notice>;
  return (
    <>
      {answer.response.resolution === "fine" ? null
        : <Notice calm id="heat-coarser">{answer.response.resolution === "mean power" ? t.heat.meanPower : t.heat.fewerSteps}</Notice>}
      <HeatDrawing id="heat" curves={curvesOf(answer.response, measured_um)} />
      <p class="small soft" data-testid="heat-basis">{t.heat.basis[answer.response.basis]} {t.heat.cautions}</p>
      <Rests id="heat" basis={() => ({ of: restedOf(answer.response), inputs: [...facts, askedFor(duration)] })} />
    </>
  );
}

/** The numbers said below the curves. */
function restedOf({ results }: HeatResponse): Rested[] {
  const { removed_depth, damage_depth } = results;
  const model = (name: "temperature" | "removed" | "damage", formula: string, sources: readonly string[]): Rested => ({ name, label: t.heat.numbers[name], formula, sources });
  return [
    model("temperature", removed_depth.formula, ["carslaw1959", "hale1973", "steam"]),
    model("removed", removed_depth.formula, removed_depth.sources),
    model("damage", damage_depth.formula, damage_depth.sources),
    { name: "valid", label: t.heat.numbers.valid, formula: "api.dose.tissue.relaxation_time_s", sources: ["carslaw1959", "practice"] },
    { name: "thermal_damage", label: t.heat.bands["thermal_damage"]!, formula: "literature", sources: ["suter2017", "tongue2014", "damagerange"] },
  ];
}

const askedFor = (duration: string): Fact => ({
  name: t.heat.duration, value: t.heat.durations[duration] ?? duration, origin: t.dose.origin["entered"]!, status: t.dose.status["stated"]!,
});

function curvesOf({ results, valid_until }: HeatResponse, measured_um: Measured): HeatCurves {
  return {
    times_s: results.time.values, surface_cel: results.surface_temperature.values, valid_until_s: valid_until.value,
    depths_um: results.depth.values, temperatures_cel: results.temperature.values,
    residual_cel: results.residual_temperature.values, removed_um: results.removed_depth.value,
    damage_um: results.damage_depth.value, measured_um,
  };
}

import "../../styles/facts.css";
import { distanceText } from "../../parts/drawings/room-numbers";
import { More } from "../../parts/dose";
import type { HazardAnswer, HazardResponse } from "../../dose/hazard/evaluate";
import { localNumbers, t } from "../../text";
import { DISTANCES } from "./zone";

/** Every number of a zone; each opens to its formula and source. */
export function HazardNumbers({ response }: { response: HazardResponse }) {
  const { results } = response;
  const distances = t.rooms.distances as Record<string, string>;
  const rows: [string, string, string, HazardAnswer][] = [];
  for (const name of DISTANCES) {
    const one = results[name];
    if (one) rows.push([name, distances[name]!, distanceText((one.value as number) * 1000), one]);
  }
  const limit = results["exposure_limit_irradiance"];
  if (limit) rows.push(["limit", t.rooms.limit, `${rounded(limit.value as number)}\u00a0W/m²`, limit]);
  const density = results["optical_density"];
  if (density) rows.push(["density", t.rooms.density, localNumbers((Math.ceil((density.value as number) * 10 - 1e-9) / 10).toFixed(1)), density]);
  const grade = results["en207_d"];
  if (grade) rows.push(["grade", t.rooms.grades, t.rooms.gradeD(String(grade.value)), grade]);
  return (
    <section class="sheet" aria-label={t.rooms.title}>
      <dl class="fact-tiles">
        {rows.map(([name, label, text, one]) => (
          <div key={name} class="fact" data-testid={`hazard-${name}`}>
            <dt>{label}</dt><dd class="num strong">{text}</dd>
            <dd class="no-print"><More id={`hazard-${name}-more`} title={t.rooms.formula}>
              <p class="small"><code>{one.formula}</code></p>
              <p class="small soft">{t.rooms.source}: {one.sources.join(", ")}</p></More></dd>
          </div>
        ))}
        {grade ? null : <div class="fact"><dt>{t.rooms.grades}</dt><dd>{response.absent["en207_d"] ? t.rooms.gradeNone : t.rooms.notOffered}</dd></div>}
      </dl>
    </section>
  );
}

const rounded = (value: number): string => localNumbers(String(Number(value.toPrecision(3))));

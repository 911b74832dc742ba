import "../../styles/facts.css";
import { useState } from "preact/hooks";
import { Glyph } from "../../parts/basics";
import { distanceText } from "../../parts/drawings/room-numbers";
import { formulaOf, Inputs, sentence } from "../../parts/dose";
import { Provenance, Source, statusOf } from "../../parts/provenance";
import { conditionText } from "../../parts/constant-text";
import { FORMULAS } from "../../dose/provenance";
import type { HazardAnswer, HazardResponse } from "../../dose/hazard/evaluate";
import type { HazardRequest } from "../../session/rooms";
import { localNumbers, t } from "../../text";
import { limitText, ZONE_FROM, zoneFacts } from "./facts";
import { DISTANCES } from "./zone";

interface Props { request: HazardRequest; response: HazardResponse }
interface Row { name: string; id: string; label: string; text: string; one: HazardAnswer }

/** Every number of a zone; each opens to its formula, its inputs and what they rest on. */
export function HazardNumbers({ request, response }: Props) {
  const rows = rowsOf(response);
  const graded = rows.some(({ name }) => name === "en207_d");
  return (
    <section class="sheet" aria-label={t.rooms.title}>
      <dl class="fact-tiles">
        {rows.map((row) => (
          <div key={row.name} class="fact" data-testid={`hazard-${row.id}`}>
            <dt>{row.label}</dt><dd class="num strong">{row.text}</dd>
            <dd class="no-print"><Opening row={row} request={request} response={response} /></dd>
          </div>
        ))}
        {graded ? null : <div class="fact"><dt>{t.rooms.grades}</dt><dd>{response.absent["en207_d"] ? sentence(response.absent["en207_d"]) : t.rooms.notOffered}</dd></div>}
      </dl>
    </section>
  );
}

function rowsOf({ results }: HazardResponse): Row[] {
  const distances = t.rooms.distances as Record<string, string>;
  const rows: Row[] = [];
  const add = (name: string, id: string, label: string, text: (value: number) => string) => {
    const one = results[name];
    if (one) rows.push({ name, id, label, text: text(one.value as number), one });
  };
  for (const name of DISTANCES) add(name, name, distances[name]!, (metres) => distanceText(metres * 1000));
  add("exposure_limit_irradiance", "limit", t.rooms.limit, limitText);
  add("optical_density", "density", t.rooms.density, densityText);
  add("en207_d", "grade", t.rooms.grades, (grade) => t.rooms.gradeD(String(grade)));
  return rows;
}

/** A density that protects: rounded up to a tenth. */
export const densityText = (density: number): string => localNumbers((Math.ceil(density * 10 - 1e-9) / 10).toFixed(1));

function Opening({ row: { name, id, one }, request, response }: Props & { row: Row }) {
  const [open, setOpen] = useState(false);
  return (
    <details data-testid={`hazard-${id}-more`} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary data-testid={`hazard-${id}-more-open`}><Glyph shape="turn" turn /><span>{t.dose.formula}</span></summary>
      {open ? (
        <div class="dose-open">
          <p class="formula">{formulaOf(one.formula)}</p>
          <p><strong>{t.dose.inputs}</strong></p>
          <Inputs facts={inputsOf(name, request, response)} />
          <Provenance id={`hazard-${id}`} formula={one.formula} sources={sourcesOf(name, one, response.edition)} edition={response.edition} />
        </div>
      ) : null}
    </details>
  );
}

/** The same on the printed sheet, where nothing opens: each input and each source once. */
export function ZoneBasis({ request, response }: Props) {
  const rows = rowsOf(response);
  const facts = zoneFacts(request, response);
  const inputs = [...new Set(rows.flatMap(({ name }) => ZONE_FROM[name] ?? []))].flatMap((key) => facts[key] ?? []);
  const sources = [...new Set(rows.flatMap(({ name, one }) => sourcesOf(name, one, response.edition)))];
  return (
    <section class="only-print small" data-testid="zone-basis">
      <h2>{t.provenance.rests}</h2>
      <p>{t.provenance.edition}: {response.edition}</p>
      <h3>{t.dose.inputs}</h3>
      <ul>{inputs.map((fact) => <li key={fact.name}>{fact.name}: <span class="num">{fact.value}</span> ({fact.origin}, {fact.status})</li>)}</ul>
      <h3>{t.dose.formula}</h3>
      <ul>{rows.map(({ name, label, one }) => (
        <li key={name}><strong>{label}</strong>: {formulaOf(one.formula)}. {t.provenance.validity}: {FORMULAS[one.formula]?.valid.map(conditionText).join("; ")}. {statusOf(one.formula)}</li>
      ))}</ul>
      <h3>{t.dose.source}</h3>
      <ul>{sources.map((key) => <Source key={key} of={key} />)}</ul>
    </section>
  );
}

const inputsOf = (name: string, request: HazardRequest, response: HazardResponse) => {
  const facts = zoneFacts(request, response);
  return (ZONE_FROM[name] ?? []).flatMap((key) => facts[key] ?? []);
};

/** The edition's own source stands beside that of the table it shares. */
function sourcesOf(name: string, one: HazardAnswer, edition: string): readonly string[] {
  return name === "exposure_limit_irradiance" && edition === "2006/25/EC" ? [...one.sources, "directive2006"] : one.sources;
}

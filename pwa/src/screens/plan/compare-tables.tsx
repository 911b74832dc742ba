import type { ComponentChildren } from "preact";
import { type Facts, factsFor, sentence, show } from "../../parts/dose";
import { Choice } from "../../parts/fields";
import { type Basis, Rests } from "../../parts/rests";
import { MADE_FROM } from "../../parts/results";
import type { DoseResponse, Result } from "../../session/dosing";
import { localNumbers, t } from "../../text";
import { factorText, inputRows, type Ratio, type ResultRow, resultRows } from "./comparison";
import { inputName, inputsOf, inputText } from "./inputs";
import type { Judged } from "./judge";

/** The inputs that are not the same. */
export function Differences({ a, b, tips }: { a: Judged; b: Judged; tips: readonly [string, string] }) {
  const rows = inputRows({ ...inputsOf(a.composed.settings), handpiece: tips[0] }, { ...inputsOf(b.composed.settings), handpiece: tips[1] });
  return (
    <section class="sheet" aria-label={t.compare.changed} data-testid="compare-differences">
      <h2>{t.compare.changed}</h2>
      {rows.length === 0 ? <p class="soft" role="status">{t.compare.noDifference}</p> : (
        <Table name={t.compare.changed}>
          {rows.map(({ name, a: one, b: two, ratio }) => (
            <Row key={name} id={`differs-${name}`} name={inputName(name)} ratio={ratio}
              a={one === null ? t.compare.onlyIn(t.compare.sides.b) : inputText(name, one)}
              b={two === null ? t.compare.onlyIn(t.compare.sides.a) : inputText(name, two)} />
          ))}
        </Table>
      )}
    </section>
  );
}

interface ResultsProps { a: Judged; b: Judged; facts: () => Record<"a" | "b", Facts>; basis: "set" | "delivered"; onBasis: (basis: "set" | "delivered") => void }

/** Every number of both, with its ratio; where one lacks it, why. */
export function Results({ a, b, facts, basis, onBasis }: ResultsProps) {
  const [one, two] = [answerOf(a), answerOf(b)];
  if (!one || !two) return null;
  const verified = one.dose.delivered !== null || two.dose.delivered !== null;
  const shown = verified ? basis : "set";
  const rows = resultRows(one, two, Object.keys(MADE_FROM), shown, t.dose.noCheck);
  return (
    <section class="sheet" aria-label={t.compare.results} data-testid="compare-results">
      <h2>{t.compare.results}</h2>
      {verified ? (
        <Choice id="compare-basis" legend={t.compare.basis} value={shown} onChange={(value) => onBasis(value as "set" | "delivered")}
          options={[{ value: "set", text: t.compare.fromSet }, { value: "delivered", text: t.compare.fromVerified }]} />
      ) : null}
      <Table name={t.compare.results}>
        {rows.map((row) => (
          <Row key={row.name} id={`compare-${row.name}`} name={t.results[row.name]?.label ?? row.name} ratio={row.ratio}
            a={cell(row.name, row.a, row.why_a)} b={cell(row.name, row.b, row.why_b)} />
        ))}
      </Table>
      <Rests id="compare" basis={() => basisOf(rows, facts(), shown === "delivered")} />
      <p class="small soft">{t.dose.engine(one.engine)}</p>
    </section>
  );
}

/** Each result by its formula, and the inputs of both sides. */
function basisOf(rows: readonly ResultRow[], facts: Record<"a" | "b", Facts>, arriving: boolean): Basis {
  const names = rows.map(({ name }) => name);
  return {
    inputs: (["a", "b"] as const).flatMap((side) => factsFor(names, facts[side], arriving).map((fact) => ({ ...fact, name: `${t.compare.sides[side]}: ${fact.name}` }))),
    of: rows.flatMap(({ name, a, b }) => [...new Map([a, b].flatMap((one) => (one ? [[one.formula, one.sources] as const] : [])))]
      .map(([formula, sources]) => ({ name, label: t.results[name]?.label ?? name, formula, sources }))),
  };
}

const answerOf = (judged: Judged): DoseResponse | null => (judged.outcome?.ok ? judged.outcome.response : null);

const cell = (name: string, result: Result | null, why: string | null): string =>
  result ? show(name, result) : sentence(why ?? t.common.notStated);

function Table({ name, children }: { name: string; children: ComponentChildren }) {
  return (
    <div role="table" aria-label={name} class="versus">
      <div role="row" class="versus-head">
        <span role="columnheader" class="hidden-text">{t.dose.result}</span>
        <span role="columnheader">{t.compare.sides.a}</span><span role="columnheader">{t.compare.sides.b}</span><span role="columnheader">{t.compare.ratio}</span>
      </div>
      {children}
    </div>
  );
}

function Row({ id, name, a, b, ratio }: { id: string; name: string; a: string; b: string; ratio: Ratio }) {
  return (
    <div role="row" class="versus-row" data-testid={id}>
      <span role="rowheader" class="name">{name}</span>
      <span role="cell" class="value" data-testid={`${id}-a`}>{a}</span>
      <span role="cell" class="value" data-testid={`${id}-b`}>{b}</span>
      <span role="cell" class={ratio.kind === "times" ? "value" : "soft small"} data-testid={`${id}-ratio`}>{ratioText(ratio)}</span>
    </div>
  );
}

export function ratioText(ratio: Ratio): string {
  if (ratio.kind === "same") return t.compare.same;
  return ratio.kind === "times" ? t.compare.times(localNumbers(factorText(ratio.factor))) : t.compare.noRatio;
}

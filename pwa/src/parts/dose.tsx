import "../styles/dose.css";
import { format_value as formatValue } from "../dose/display";
import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { localNumbers, t } from "../text";
import { Glyph, Notice } from "./basics";
import { unbroken } from "./quantity";
import { Provenance } from "./provenance";
import { CHAIN, KEY_RESULTS, MADE_FROM } from "./results";
import { sentence } from "./said";

export { sentence };

interface Result { value?: number; low?: number; high?: number; unit: string; formula: string; sources: string[]; note?: string }
type Results = Record<string, Result>;
type Interval = { low: number; high: number; unit: string } | "not stated" | undefined;
type Intervals = Record<string, Interval>;

export interface Fact { name: string; value: string; origin: string; status: string }
export type Facts = Readonly<Record<string, Fact>>;

export interface DosePanelProps {
  response: {
    engine: string;
    dose: { set: Results; delivered: Results | null };
    absent: Record<string, string>;
    contradictions: unknown[];
    warnings: { code: string; text: string; sources: string[] }[];
    intervals?: { coverage_factor: number; set: Intervals; delivered: Intervals | null };
  };
  /** What stands above the second column: a check's date and age, or why there is none. */
  basis: string;
  facts: Facts;
  /** Only the key results; the rest opens. */
  brief?: boolean;
}

/** Every dose twice, from the set power and from the verified power; each number opens. */
export function DosePanel({ response, basis, facts, brief = false }: DosePanelProps) {
  const { set, delivered } = response.dose;
  const known = Object.keys(MADE_FROM).filter((name) => set[name] !== undefined);
  const main = KEY_RESULTS.filter((name) => set[name] !== undefined || response.absent[name] !== undefined);
  const rest = known.filter((name) => !(main as readonly string[]).includes(name));
  const secondColumn = delivered && isDesign(delivered) ? t.dose.design : t.dose.delivered;
  const line = (name: string) => (
    <DoseLine key={name} name={name} column={secondColumn} set={set[name]} delivered={delivered?.[name]}
      why={response.absent[name]} facts={facts}
      around={(delivered?.[name] ? response.intervals?.delivered : response.intervals?.set)?.[name]} factor={response.intervals?.coverage_factor ?? 2} />
  );
  const missing = Object.entries(response.absent).filter(
    ([name]) => t.results[name] && !(main as readonly string[]).includes(name));
  return (
    <section class="stack" aria-label={t.dose.title} data-testid="dose-panel">
      <p class="small">{secondColumn}: <span data-testid="dose-basis">{basis}</span></p>
      <div class="dose">
        <div class="dose-head">
          <span class="name">{t.dose.result}</span>
          <span class="strong">{t.dose.set}</span>
          <span class="strong">{secondColumn}</span>
        </div>
        {main.map(line)}
        {brief ? null : rest.map(line)}
      </div>
      {brief && rest.length > 0 ? <More id="dose-more" title={t.dose.more}><div class="dose">{rest.map(line)}</div></More> : null}
      {missing.length > 0 ? (
        <More id="dose-absent" title={t.dose.absent}>
          <dl class="reasons">{byReason(missing).map(([why, names]) => [<dt key={why}>{sentence(why)}</dt>, <dd key={`${why}-what`} class="small">{names.map((name) => t.results[name]!.label).join(", ")}</dd>])}</dl>
        </More>
      ) : null}
      {response.warnings.length > 0 ? (
        <Notice calm id="dose-warnings"><div class="small stack"><strong>{t.dose.warnings}</strong>
          {response.warnings.map((w) => <p key={w.code}>{sentence(w.text)}</p>)}</div></Notice>
      ) : null}
      <p class="small soft">{t.dose.engine(response.engine)}</p>
    </section>
  );
}

/** What cannot be said, gathered under each reason in the order in which the reasons come. */
function byReason(missing: readonly (readonly [name: string, why: string])[]): [why: string, names: string[]][] {
  const found = new Map<string, string[]>();
  for (const [name, why] of missing) found.set(why, [...(found.get(why) ?? []), name]);
  return [...found];
}

function isDesign(delivered: Results): boolean {
  const basis = delivered["basis"] as unknown;
  return basis === "design" || (basis as { value?: unknown } | undefined)?.value === "design";
}

interface LineProps { name: string; column: string; set: Result | undefined; delivered: Result | undefined; why: string | undefined; facts: Facts; around: Interval; factor: number }

function DoseLine({ name, column, set, delivered, why, facts, around, factor }: LineProps) {
  const words = t.results[name]!;
  // What a number rests on is drawn once it is opened: the panel is drawn anew with every key.
  const [open, setOpen] = useState(false);
  if (!set) {
    return (
      <div class="dose-line" data-testid={`dose-${name}`}>
        <div class="absent-line"><span class="name">{words.label}</span><span class="why">{sentence(why ?? t.common.notStated)}</span></div>
      </div>
    );
  }
  return (
    <details class="dose-line" data-testid={`dose-${name}`} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary data-testid={`dose-${name}-open`}>
        <Glyph shape="turn" turn />
        <span class="cols">
          <span class="name">{words.label}</span>
          <span class="value" data-head={t.dose.set} data-testid={`dose-${name}-set`}>{show(name, set)}</span>
          <span class="value" data-head={column} data-testid={`dose-${name}-delivered`}>{delivered ? show(name, delivered) : "–"}</span>
          {typeof around === "object" ? <span class={delivered ? "around" : "around set"} data-testid={`dose-${name}-interval`}>{rangeText(name, around)}</span> : null}
        </span>
      </summary>
      {open ? <Opened name={name} set={set} delivered={delivered} facts={facts} around={around} factor={factor} /> : null}
    </details>
  );
}

interface OpenedProps { name: string; set: Result; delivered: Result | undefined; facts: Facts; around: Interval; factor: number }

/** An opened number: its formula, what it is made from, and what all of that rests on. */
function Opened({ name, set, delivered, facts, around, factor }: OpenedProps) {
  const arriving = delivered !== undefined && differs(set, delivered);
  const inputs = factsFor([name], facts, arriving);
  const scaled = delivered && delivered.formula !== set.formula ? delivered : null;
  return (
    <div class="dose-open">
      <p><strong>{t.dose.formula}</strong></p>
      <p class="formula">{formulaOf(set.formula, t.results[name]?.formula)}</p>
      {scaled ? <p class="formula">{t.dose.delivered}: {formulaOf(scaled.formula, t.results[name]?.formula)}</p> : null}
      {inputs.length > 0 ? <><p><strong>{t.dose.inputs}</strong></p><Inputs facts={inputs} /></> : null}
      {set.note ? <p>{sentence(set.note)}</p> : null}
      <p><strong>{t.dose.uncertainty}:</strong> {typeof around === "object" ? t.dose.interval(rangeText(name, around), factor) : t.dose.notStated}</p>
      <Provenance id={`dose-${name}`} formula={set.formula} sources={set.sources} />
      {arriving ? <p>{t.dose.ratioNote}</p> : null}
    </div>
  );
}

/** Whether what arrives makes another number of it: a wavelength or a time stays what it is. */
export const differs = (a: Result, b: Result): boolean => a.value !== b.value || a.low !== b.low || a.high !== b.high;

/** The known inputs of these results, each once; of delivered ones also what the arriving part is from. */
export function factsFor(results: readonly string[], facts: Facts, arriving: boolean): Fact[] {
  const fraction = facts["verified_ratio"] ? ["verified_ratio"] : CHAIN;
  const names = new Set([...results.flatMap((name) => MADE_FROM[name] ?? []), ...(arriving ? fraction : [])]);
  return [...names].flatMap((name) => facts[name] ?? []);
}

/** Inputs with their values, where each came from and how it is known. */
export function Inputs({ facts }: { facts: readonly Fact[] }) {
  return <ul class="inputs">{facts.map((f) => <li key={f.name}><strong>{f.name}</strong> <span class="num">{f.value}</span><br /><span class="soft">{f.origin}, {f.status}</span></li>)}</ul>;
}

/** A formula as a person writes it, by its dotted name; else as the result of this name is mostly had. */
export function formulaOf(formula: string, otherwise = ""): string {
  return localNumbers(t.formulas[formula.split(".").pop() ?? ""] ?? otherwise);
}

const shown = (name: string, value: number): string => unbroken(localNumbers(formatValue(name, value)));

export function show(name: string, result: Result): string {
  if (typeof result.value === "number") return shown(name, result.value);
  if (result.low != null && result.high != null) return rangeText(name, { low: result.low, high: result.high });
  return "–";
}

const rangeText = (name: string, { low, high }: { low: number; high: number }): string => `${shown(name, low)} – ${shown(name, high)}`;

export function More({ id, title, open = false, children }: { id: string; title: string; open?: boolean; children: ComponentChildren }) {
  return (
    <details open={open} data-testid={id}>
      <summary data-testid={`${id}-open`}><Glyph shape="turn" turn /><span>{title}</span></summary>
      <div class="stack">{children}</div>
    </details>
  );
}

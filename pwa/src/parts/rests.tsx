import { useState } from "preact/hooks";
import { t } from "../text";
import { Glyph } from "./basics";
import { type Fact, formulaOf, Inputs } from "./dose";
import { Provenance } from "./provenance";

export interface Rested { name: string; label: string; formula: string; sources: readonly string[]; inputs?: readonly Fact[] }

export interface Basis {
  /** The numbers in the picture or table above. */
  of: readonly Rested[];
  /** What all of them are made from, where it is the same. */
  inputs?: readonly Fact[];
}

/**
 * Below a picture or a table whose numbers cannot open where they stand: what each of them rests on,
 * worked out once it is opened.
 */
export function Rests({ id, basis }: { id: string; basis: () => Basis }) {
  const [open, setOpen] = useState(false);
  return (
    <details data-testid={`${id}-rests`} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary data-testid={`${id}-rests-open`}><Glyph shape="turn" turn /><span>{t.provenance.rests}</span></summary>
      {open ? <Opened id={id} {...basis()} /> : null}
    </details>
  );
}

function Opened({ id, of, inputs = [] }: Basis & { id: string }) {
  return (
    <div class="stack">
      {inputs.length > 0 ? <div class="dose-open"><p><strong>{t.dose.inputs}</strong></p><Inputs facts={inputs} /></div> : null}
      {of.map(({ name, label, formula, sources, inputs: own = [] }) => (
        <div key={`${name} ${formula}`} class="dose-open">
          <p><strong>{label}</strong></p>
          <p class="formula">{formulaOf(formula, t.results[name]?.formula)}</p>
          {own.length > 0 ? <Inputs facts={own} /> : null}
          <Provenance id={`${id}-${name}`} formula={formula} sources={sources} />
        </div>
      ))}
    </div>
  );
}

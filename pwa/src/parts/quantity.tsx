import { t } from "../text";
import { Wrong } from "./fields";
import { readNumber, type ReadNumber } from "./number";

export interface Typed { raw: string; unit: string }

interface Props {
  id: string;
  label: string;
  typed: Typed;
  units: readonly string[];
  onChange: (typed: Typed) => void;
  hint?: string | undefined;
  wrong?: string | undefined;
}

/** A number with its unit: what was understood is echoed, what is doubtful is asked. */
export function QuantityField({ id, label, typed, units, onChange, hint, wrong }: Props) {
  const read = readNumber(typed.raw);
  const problem = wrong ?? problemOf(read);
  const said = `${id}-said`;
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <div class="quantity">
        <input id={id} data-testid={id} type="text" inputMode="decimal" autoComplete="off" maxLength={20}
          value={typed.raw} aria-describedby={said} aria-invalid={problem ? "true" : undefined}
          onInput={(e) => onChange({ raw: e.currentTarget.value, unit: typed.unit })} />
        {units.length > 1
          ? <select data-testid={`${id}-unit`} aria-label={`${label}, ${t.dose.column.value}`} value={typed.unit}
              onChange={(e) => onChange({ raw: typed.raw, unit: e.currentTarget.value })}>
              {units.map((unit) => <option key={unit} value={unit}>{unitText(unit)}</option>)}
            </select>
          : <span class="unit">{unitText(units[0] ?? "")}</span>}
      </div>
      <div id={said} aria-live="polite" class="said" data-testid={`${id}-said`}>
        {read.kind === "number" ? <span class="num">{t.common.number.reads(`${read.text}\u00a0${unitText(typed.unit)}`)}</span> : null}
        {read.kind === "empty" && hint ? <span class="soft">{hint}</span> : null}
        {problem ? <Wrong id={`${id}-wrong`}>{problem}</Wrong> : null}
        {read.kind === "ask" ? (
          <div class="stack">
            <Wrong id={`${id}-ask`}>{t.common.number.ask(typed.raw)}</Wrong>
            <div class="row">
              <button type="button" data-testid={`${id}-decimal`} onClick={() => onChange({ raw: read.decimal.replace(/\.?0+$/, ""), unit: typed.unit })}>
                <span class="num">{read.decimal.replace(/\.?0+$/, "")} {unitText(typed.unit)}</span>
              </button>
              <button type="button" data-testid={`${id}-thousands`} onClick={() => onChange({ raw: read.thousands, unit: typed.unit })}>
                <span class="num">{read.thousands} {unitText(typed.unit)}</span>
              </button>
            </div>
          </div>
        ) : null}
      </div>
    </div>
  );
}

function problemOf(read: ReadNumber): string | undefined {
  if (read.kind === "unreadable") return t.common.number.unreadable;
  if (read.kind === "number" && Number(read.text) === 0) return t.common.number.zero;
  return undefined;
}

/** Units as people write them; data keeps the plain letters. */
export function unitText(unit: string): string {
  return unit.replace(/^u(?=[ms])/, "µ");
}

/** "400 us" as it is read: a number and its unit, never torn apart at the end of a line. */
export function quantityText(text: string): string {
  return unbroken(text.replace(/ u(?=[ms]\b)/, " µ"));
}

/** The same text with gaps at which no line ends. */
export function unbroken(text: string): string {
  return text.replace(/ /g, "\u00a0");
}

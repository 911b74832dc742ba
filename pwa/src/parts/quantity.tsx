import "../styles/entry.css";
import { useRef } from "preact/hooks";
import { localNumbers, t } from "../text";
import { Press } from "./basics";
import { Wrong } from "./fields";
import { readNumber, type ReadNumber, readTyped, type Typed } from "./number";
import { NumberKeys, openKeys } from "./numpad";
import { quantityText, unitText } from "./quantity-text";

export { quantityText, unbroken, unitText } from "./quantity-text";

export type { Typed } from "./number";

/** What plus and minus beside a number do; null where there is nowhere to go, with the reason if there is one. */
export interface Steps {
  /** The step with its unit, as it is said. */
  by: string;
  less: (() => void) | null;
  more: (() => void) | null;
  refused?: string | undefined;
}

interface Props {
  id: string;
  label: string;
  typed: Typed;
  units: readonly string[];
  onChange: (typed: Typed) => void;
  hint?: string | undefined;
  wrong?: string | undefined;
  /** Zero is a value here, as for a distance. */
  zero?: boolean;
  steps?: Steps | undefined;
}

/** A number with its unit: tapped, typed or pasted; what was understood is echoed, what is doubtful is asked. */
export function QuantityField(props: Props) {
  const { id, label, typed, units, onChange, hint, steps } = props;
  const field = useRef<HTMLInputElement>(null);
  const read = readTyped(typed, units);
  // What this program put there is shown as the language writes it; what was typed stays as typed.
  const text = typed.sure ? localNumbers(typed.raw) : typed.raw;
  const problem = props.wrong ?? problemOf(read, units, props.zero ?? false);
  const said = `${id}-said`;
  const open = openKeys.value === id;
  const take = (raw: string) => {
    const next = readNumber(raw, units);
    onChange({ raw, unit: (next.kind === "number" || next.kind === "ask" ? next.unit : undefined) ?? typed.unit });
  };
  // The unit chosen last counts, so one that was typed behind the number goes.
  const choose = (unit: string) => onChange(read.kind === "number" ? { raw: read.text, unit, sure: true } : { raw: typed.raw, unit });
  const show = () => {
    if (openKeys.value === id) return;
    openKeys.value = id;
    field.current?.select();
  };
  const unit = unitText(typed.unit);
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <div class={steps ? "stepped" : "stepped none"}>
        {steps ? <Press id={`${id}-minus`} label={t.entry.minus(label)} disabled={!steps.less} onPress={() => steps.less?.()}>−</Press> : null}
        <div class="quantity">
          {/* Our own keys stand below, so the tablet's keyboard stays away; a real keyboard works as ever. */}
          <input id={id} ref={field} data-testid={id} type="text" inputMode="none" autoComplete="off" maxLength={24}
            value={text} aria-describedby={said} aria-invalid={problem ? "true" : undefined}
            onPointerDown={() => { if (!open) unselect(field.current); }} onClick={show} onInput={(e) => take(e.currentTarget.value)} />
          {units.length > 1
            ? <button type="button" class="unit" data-testid={`${id}-unit-open`} aria-expanded={open} aria-label={`${t.entry.unitOf(label)}: ${unit}`}
                onClick={() => (open ? (openKeys.value = null) : show())}>{unit}</button>
            : <span class="unit">{unit}</span>}
        </div>
        {steps ? <Press id={`${id}-plus`} label={t.entry.plus(label)} disabled={!steps.more} onPress={() => steps.more?.()}>+</Press> : null}
      </div>
      <div id={said} aria-live="polite" class="said" data-testid={`${id}-said`}>
        {read.kind === "number" ? <span class="num">{t.common.number.reads(`${localNumbers(read.text)}\u00a0${unitText(read.unit ?? typed.unit)}`.trim())}</span> : null}
        {read.kind === "unfinished" ? <span class="soft">{t.entry.unfinished}</span> : null}
        {read.kind === "empty" && hint ? <span class="soft">{hint}</span> : null}
        {steps && read.kind === "number" ? <span class="soft"> · {t.entry.step(quantityText(steps.by))}</span> : null}
        {problem ? <Wrong id={`${id}-wrong`}>{problem}</Wrong> : null}
        {steps?.refused && !problem ? <span class="refused" data-testid={`${id}-refused`}>{steps.refused}</span> : null}
        {read.kind === "ask" ? <Ask {...props} read={read} /> : null}
      </div>
      {open ? <NumberKeys id={id} label={label} field={field} raw={text} onRaw={take} unit={typed.unit} units={units} onUnit={choose} /> : null}
    </div>
  );
}

/** A browser undoes a selection that was touched, after the touch; what is to be selected by it must not be before. */
function unselect(input: HTMLInputElement | null): void {
  input?.setSelectionRange(input.value.length, input.value.length);
}

function Ask({ id, typed, onChange, read }: Props & { read: Extract<ReadNumber, { kind: "ask" }> }) {
  const decimal = read.decimal.replace(/\.?0+$/, "");
  const take = (raw: string) => onChange({ raw, unit: read.unit ?? typed.unit, sure: true });
  return (
    <div class="stack">
      <Wrong id={`${id}-ask`}>{t.common.number.ask(typed.raw)}</Wrong>
      <div class="row">
        {([["decimal", decimal], ["thousands", read.thousands]] as const).map(([name, text]) => (
          <button key={name} type="button" data-testid={`${id}-${name}`} onClick={() => take(text)}>
            <span class="num">{quantityText(`${text} ${typed.unit}`)}</span>
          </button>
        ))}
      </div>
    </div>
  );
}

function problemOf(read: ReadNumber, units: readonly string[], zero: boolean): string | undefined {
  if (read.kind === "unreadable") return t.common.number.unreadable;
  if (read.kind === "unit") return t.entry.unit(read.unit, units.map(unitText).join(", "));
  if (read.kind === "number" && !zero && Number(read.text) === 0) return t.common.number.zero;
  return undefined;
}

import type { ComponentChildren } from "preact";
import { Glyph } from "./basics";

/**
 * The form of the page that keeps nothing. What is typed into a text area is written by the browser
 * into a file of its own, to restore a closed tab with, unless its form says otherwise.
 */
export const UNKEPT = "unkept";

interface TextProps {
  id: string;
  label: string;
  value: string;
  onChange: (text: string) => void;
  hint?: string | undefined;
  wrong?: string | undefined;
  kind?: "text" | "password" | "search";
  complete?: string;
  long?: boolean;
  mode?: "numeric" | "text" | "decimal";
  max?: number;
  spell?: boolean;
  /** Bring the field into view and put the cursor in it when it appears. */
  focus?: boolean;
}

/** A labelled line of text, or several lines where `long`. */
export function TextField(props: TextProps) {
  const hintId = `${props.id}-hint`;
  const shared = {
    id: props.id, value: props.value, "data-testid": props.id, maxLength: props.max ?? 2000,
    "aria-invalid": props.wrong ? ("true" as const) : undefined,
    "aria-describedby": hintId,
    spellcheck: props.spell ?? false,
    ref: (node: HTMLElement | null) => { if (props.focus && node && !node.dataset["met"]) { node.dataset["met"] = "yes"; node.focus(); } },
    onInput: (event: Event) => props.onChange((event.currentTarget as HTMLInputElement).value),
  };
  return (
    <div class="field">
      <label for={props.id}>{props.label}</label>
      {props.long
        // The browser brings its first line into view only, and leaves the rest behind the foot.
        ? <textarea {...shared} form={UNKEPT} rows={3} onFocus={(event) => event.currentTarget.scrollIntoView({ block: "nearest" })} />
        : <input {...shared} type={(props.kind ?? "text") as "text"} inputMode={props.mode ?? "text"} autoComplete={(props.complete ?? "off") as "off"} />}
      <div id={hintId}>
        {props.hint ? <span class="hint">{props.hint}</span> : null}
        {props.wrong ? <Wrong id={`${props.id}-wrong`}>{props.wrong}</Wrong> : null}
      </div>
    </div>
  );
}

/** What is the matter with a field, in words, at the field. */
export function Wrong({ id, children }: { id: string; children: ComponentChildren }) {
  return <span class="wrong" role="alert" data-testid={id}><Glyph shape="warn" /><span>{children}</span></span>;
}

export interface Option { value: string; text: string; under?: string | undefined }

interface ChoiceProps {
  id: string;
  legend: string;
  options: readonly Option[];
  value: string;
  onChange: (value: string) => void;
  across?: boolean;
  hint?: string | undefined;
  wrong?: string | undefined;
}

/** One of a few, every one of them in sight. */
export function Choice({ id, legend, options, value, onChange, across, hint, wrong }: ChoiceProps) {
  return (
    <fieldset class="field" data-testid={id}>
      <legend>{legend}</legend>
      {hint ? <span class="hint">{hint}</span> : null}
      <div class={across ? "choices across" : "choices"}>
        {options.map((option) => (
          <label class="choice" key={option.value}>
            <input type="radio" name={id} value={option.value} checked={option.value === value}
              data-testid={`${id}-${slug(option.value)}`} onChange={() => onChange(option.value)} />
            <span>{option.text}{option.under ? <span class="under">{option.under}</span> : null}</span>
          </label>
        ))}
      </div>
      {wrong ? <Wrong id={`${id}-wrong`}>{wrong}</Wrong> : null}
    </fieldset>
  );
}

/** A single yes that can be taken back. */
export function Tick({ id, checked, onChange, children }: {
  id: string; checked: boolean; onChange: (on: boolean) => void; children: ComponentChildren;
}) {
  return (
    <label class="choice">
      <input type="checkbox" data-testid={id} checked={checked}
        onChange={(event) => onChange(event.currentTarget.checked)} />
      <span>{children}</span>
    </label>
  );
}

/** A list too long to stand in full. */
export function Select({ id, label, options, value, onChange, wrong }: {
  id: string; label: string; options: readonly Option[]; value: string;
  onChange: (value: string) => void; wrong?: string | undefined;
}) {
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <select id={id} data-testid={id} value={value} onChange={(event) => onChange(event.currentTarget.value)}>
        {options.map((o) => <option key={o.value} value={o.value}>{o.text}</option>)}
      </select>
      {wrong ? <Wrong id={`${id}-wrong`}>{wrong}</Wrong> : null}
    </div>
  );
}

export function slug(text: string): string {
  return text.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "");
}

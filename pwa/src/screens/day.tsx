import { Wrong } from "../parts/fields";

export { dayText } from "../parts/dates";

/** A day of the calendar, "YYYY-MM-DD" or "". */
export function DayField({ id, label, value, onChange, hint, wrong, min }: {
  id: string; label: string; value: string; onChange: (day: string) => void; hint?: string; wrong?: string | undefined; min?: string;
}) {
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <input id={id} data-testid={id} type="date" value={value} min={min} max="2199-12-31" aria-describedby={`${id}-hint`}
        aria-invalid={wrong ? "true" : undefined} onInput={(e) => onChange(e.currentTarget.value)} />
      <div id={`${id}-hint`}>{hint ? <span class="hint">{hint}</span> : null}{wrong ? <Wrong id={`${id}-wrong`}>{wrong}</Wrong> : null}</div>
    </div>
  );
}

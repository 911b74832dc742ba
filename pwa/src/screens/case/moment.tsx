import { Wrong } from "../../parts/fields";

/** A day and a time by the clock on the location's wall, in the browser's own control. */
export function MomentField({ id, label, value, wrong, onChange }: { id: string; label: string; value: string; wrong?: string | undefined; onChange: (text: string) => void }) {
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <input id={id} data-testid={id} type="datetime-local" class="moment" value={value} aria-invalid={wrong ? "true" : undefined} aria-describedby={wrong ? `${id}-why` : undefined}
        onInput={(e) => onChange(e.currentTarget.value)} />
      {wrong ? <div id={`${id}-why`}><Wrong id={`${id}-wrong`}>{wrong}</Wrong></div> : null}
    </div>
  );
}

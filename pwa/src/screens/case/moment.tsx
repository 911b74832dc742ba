/** A day and a time on the tablet's clock, by the browser's own control. */
export function MomentField({ id, label, value, onChange }: { id: string; label: string; value: string; onChange: (text: string) => void }) {
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <input id={id} data-testid={id} type="datetime-local" class="moment" value={value} onInput={(e) => onChange(e.currentTarget.value)} />
    </div>
  );
}

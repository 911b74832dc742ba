import { Press } from "./basics";
import { TextField } from "./fields";

interface Props {
  id: string;
  label: string;
  hint?: string;
  value: string;
  /** What it mostly is, the first ones offered. */
  known: readonly string[];
  most?: number;
  max?: number;
  /** The taps stand beside the line instead of under it. */
  beside?: boolean;
  onChange: (text: string) => void;
}

/** A text that is mostly one of a few: a tap takes it, and it may be written over. */
export function Tapped({ id, label, hint, value, known, most = 3, max = 200, beside = false, onChange }: Props) {
  const offer = [...new Set(known)].slice(0, most);
  return (
    <div class={beside ? "beside" : "stack"} role="group" aria-label={label}>
      <TextField id={id} label={label} hint={hint} value={value} onChange={onChange} max={max} spell />
      <div class="choices across">
        {offer.map((text, i) => <Press key={text} id={`${id}-take-${i}`} pressed={value === text} onPress={() => onChange(text)}>{text}</Press>)}
      </div>
    </div>
  );
}

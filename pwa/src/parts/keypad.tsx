import { t } from "../text";
import { Key } from "./basics";

export const PIN_LENGTH = 6;

interface Props {
  id: string;
  label: string;
  pin: string;
  onChange: (pin: string) => void;
  /** After the last digit was tapped on the keys; whoever types or pastes may still correct it. */
  onFull?: () => void;
}

/** A plain password field with large keys below it; typing and pasting work as anywhere. */
export function PinPad({ id, label, pin, onChange, onFull }: Props) {
  const put = (text: string) => onChange(text.replace(/\D/g, "").slice(0, PIN_LENGTH));
  const tap = (digit: string) => {
    put(pin + digit);
    if (pin.length + 1 === PIN_LENGTH) onFull?.();
  };
  return (
    <div class="stack">
      <div class="field">
        <label for={id}>{label}</label>
        <input id={id} data-testid={id} type="password" inputMode="numeric" autoComplete="off"
          value={pin} aria-describedby={`${id}-count`} onInput={(e) => put(e.currentTarget.value)} />
        <span class="hint" id={`${id}-count`} aria-live="polite">{t.door.sign.filled(pin.length)}</span>
      </div>
      <div class="keypad" role="group" aria-label={label}>
        {["1", "2", "3", "4", "5", "6", "7", "8", "9"].map((digit) => (
          <Key key={digit} id={`key-${digit}`} onPress={() => tap(digit)}>{digit}</Key>
        ))}
        <Key id="key-clear" word onPress={() => put("")}>{t.door.sign.clear}</Key>
        <Key id="key-0" onPress={() => tap("0")}>0</Key>
        <Key id="key-back" word onPress={() => put(pin.slice(0, -1))}>
          <span aria-hidden="true">⌫</span><span class="hidden-text">{t.door.sign.back}</span>
        </Key>
      </div>
    </div>
  );
}

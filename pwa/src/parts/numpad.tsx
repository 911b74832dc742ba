import { signal } from "@preact/signals";
import type { RefObject } from "preact";
import { useLayoutEffect, useRef } from "preact/hooks";
import { decimalMark, t } from "../text";
import { Key, Press } from "./basics";
import { Choice } from "./fields";
import { unitText } from "./quantity-text";

/** The field whose keys are in sight; there is never more than one. */
export const openKeys = signal<string | null>(null);

interface Props {
  id: string;
  label: string;
  field: RefObject<HTMLInputElement | null>;
  raw: string;
  onRaw: (raw: string) => void;
  unit: string;
  units: readonly string[];
  onUnit: (unit: string) => void;
}

/** Large keys below a number. They write where the cursor is, and over what is selected. */
export function NumberKeys({ id, label, field, raw, onRaw, unit, units, onUnit }: Props) {
  const pad = useRef<HTMLDivElement>(null);
  const cursor = useRef<number | null>(null);
  // The number stays in sight above its keys.
  useLayoutEffect(() => { (pad.current?.closest(".field") ?? pad.current)?.scrollIntoView({ block: "nearest" }); }, []);
  useLayoutEffect(() => {
    if (cursor.current === null) return;
    field.current?.setSelectionRange(cursor.current, cursor.current);
    cursor.current = null;
  }, [raw]);
  const replace = (text: string, backwards: number) => {
    const from = field.current?.selectionStart ?? raw.length;
    const to = field.current?.selectionEnd ?? raw.length;
    const start = from === to ? Math.max(0, from - backwards) : from;
    cursor.current = start + text.length;
    onRaw(raw.slice(0, start) + text + raw.slice(to));
  };
  const close = () => {
    openKeys.value = null;
    field.current?.focus({ preventScroll: true });
  };
  const mark = decimalMark();
  return (
    // A key must not take the cursor out of the field it writes in.
    <div class="number-keys" ref={pad} role="group" aria-label={t.entry.keys(label)} data-testid={`${id}-keys`}
      onPointerDown={(e) => { if ((e.target as Element).closest(".keypad")) e.preventDefault(); }}
      onKeyDown={(e) => { if (e.key === "Escape") close(); }}>
      {units.length > 1 ? (
        <Choice id={`${id}-unit`} across legend={t.entry.unitOf(label)} value={unit}
          options={units.map((value) => ({ value, text: unitText(value) }))} onChange={onUnit} />
      ) : null}
      <div class="keypad">
        {["1", "2", "3", "4", "5", "6", "7", "8", "9"].map((digit) => (
          <Key key={digit} id={`${id}-key-${digit}`} onPress={() => replace(digit, 0)}>{digit}</Key>
        ))}
        <Key id={`${id}-key-mark`} onPress={() => replace(mark, 0)}>
          <span aria-hidden="true">{mark}</span><span class="hidden-text">{t.entry.decimal(mark)}</span>
        </Key>
        <Key id={`${id}-key-0`} onPress={() => replace("0", 0)}>0</Key>
        <Key id={`${id}-key-back`} onPress={() => replace("", 1)}>
          <span aria-hidden="true">⌫</span><span class="hidden-text">{t.entry.back}</span>
        </Key>
        <Key id={`${id}-key-clear`} word onPress={() => { cursor.current = 0; onRaw(""); }}>{t.entry.clear}</Key>
        <span class="keys-done"><Press id={`${id}-keys-done`} kind="main" wide onPress={close}>{t.entry.done}</Press></span>
      </div>
    </div>
  );
}

import type { ComponentChildren } from "preact";
import { bounced } from "./bounce";

const SHAPES = {
  done: "M4 12.5 9.5 18 20 6.5",
  wait: "M12 3a9 9 0 1 0 .01 0M12 7v5l3.5 2.5",
  warn: "M12 3 22 20.5H2ZM12 9.5v5M12 17.2v.6",
  stop: "M8 2.5h8L21.5 8v8L16 21.5H8L2.5 16V8ZM8.5 8.5l7 7M15.5 8.5l-7 7",
  on: "M12 4a8 8 0 1 0 .01 0M12 8.5a3.5 3.5 0 1 0 .01 0",
  off: "M5 5h14v14H5ZM9 9h6v6H9Z",
  turn: "M8.5 5 16 12l-7.5 7",
  note: "M5 4h14v16H5ZM8.5 9h7M8.5 13h7",
  lock: "M6 11h12v9H6ZM8.5 11V8a3.5 3.5 0 0 1 7 0v3",
  cloud: "M5 4h14v7H5ZM5 13h14v7H5ZM8 7.5h.1M8 16.5h.1",
  tablet: "M6 2.5h12v19H6ZM11 18.5h2",
} as const;
export type Shape = keyof typeof SHAPES;

/** A small line drawing that stands beside words, never instead of them. */
export function Glyph({ shape, turn = false }: { shape: Shape; turn?: boolean }) {
  return (
    <svg class={turn ? "glyph turn" : "glyph"} viewBox="0 0 24 24" aria-hidden="true" fill="none"
      stroke="currentColor" stroke-width="2.2" stroke-linejoin="round" stroke-linecap="round">
      <path d={SHAPES[shape]} />
    </svg>
  );
}

/** State as word and shape. */
export function Mark({ shape, children, id }: { shape: Shape; children: ComponentChildren; id?: string }) {
  return <span class="mark" data-testid={id}><Glyph shape={shape} /><span>{children}</span></span>;
}

interface NoticeProps { shape?: Shape; calm?: boolean; id?: string; live?: boolean; children: ComponentChildren }

/** A framed sentence; `live` has it read out when it appears. */
export function Notice({ shape = "note", calm = false, id, live = false, children }: NoticeProps) {
  return (
    <div class={calm ? "notice calm" : "notice"} data-testid={id} role={live ? "alert" : undefined}>
      <Glyph shape={shape} /><div>{children}</div>
    </div>
  );
}

interface PressProps {
  id: string;
  onPress: () => void;
  kind?: "main" | "plain" | "quiet";
  large?: boolean;
  wide?: boolean;
  disabled?: boolean;
  pressed?: boolean;
  label?: string | undefined;
  submit?: boolean;
  focus?: boolean;
  /** What controls share that take each other's place, as start and stop do: a bounce may reach the other one. */
  place?: string;
  children: ComponentChildren;
}

/** One tap does one thing; the browser's click already acts on release. */
/** Take the focus when it appears, and not again each time that it is drawn. */
export function focusOnce(node: HTMLElement | null): void {
  if (!node || node.dataset["met"]) return;
  node.dataset["met"] = "yes";
  node.focus();
}

export function Press(props: PressProps) {
  const names = [props.kind ?? "plain", props.large ? "press" : "", props.wide ? "wide" : ""];
  const place = props.place ?? props.id;
  return (
    <button type={props.submit ? "submit" : "button"} class={names.join(" ").trim()}
      data-testid={props.id} data-press={props.submit ? undefined : place} disabled={props.disabled ?? false} aria-pressed={props.pressed}
      aria-label={props.label} ref={props.focus ? focusOnce : null}
      onClick={(event) => {
        if (props.submit) return;
        if (!bounced(place, event.timeStamp)) props.onPress();
      }}>
      {props.children}
    </button>
  );
}

/** Digits may be tapped faster than 300 ms apart on purpose, so keys of a keypad do not debounce. */
export function Key({ id, onPress, word = false, children }: {
  id: string; onPress: () => void; word?: boolean; children: ComponentChildren;
}) {
  return <button type="button" class={word ? "word" : ""} data-testid={id} onClick={onPress}>{children}</button>;
}

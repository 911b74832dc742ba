import { signal } from "@preact/signals";
import { Press } from "../parts/basics";
import { t } from "../text";
import { attempt } from "./attempt";

const SECONDS = 10;
interface Offer { text: string; run: () => Promise<void> }

export const offer = signal<Offer | null>(null);
let timer: ReturnType<typeof setTimeout> | undefined;

/** Offer to take back what was just done, for ten seconds, instead of asking before it. */
export function offerUndo(text: string, run: () => Promise<void>): void {
  clearTimeout(timer);
  offer.value = { text, run };
  timer = setTimeout(() => { offer.value = null; }, SECONDS * 1000);
}

export function UndoBar() {
  const now = offer.value;
  return (
    <div class="undo" aria-live="polite">
      {now ? (
        <div>
          <span>{now.text}</span>
          <Press id="undo" onPress={() => { offer.value = null; void attempt(now.run); }}>{t.common.undo}</Press>
        </div>
      ) : null}
    </div>
  );
}

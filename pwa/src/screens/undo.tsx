import { signal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { Press } from "../parts/basics";
import { withdraw } from "../session/commands";
import { person } from "../session/state";
import { t } from "../text";
import { attempt } from "./attempt";

const SECONDS = 10;
interface Offer { text: string; run: () => Promise<unknown> }

export const offer = signal<Offer | null>(null);
let timer: ReturnType<typeof setTimeout> | undefined;

export function withdrawOffer(): void {
  clearTimeout(timer);
  offer.value = null;
}

// What one person did, the next one to sign in is not offered to take back by a tap.
person.subscribe((who) => { if (who === null) withdrawOffer(); });

/** Offer to take back what was just done, for ten seconds, instead of asking before it. */
export function offerUndo(text: string, run: () => Promise<unknown>): void {
  clearTimeout(timer);
  offer.value = { text, run };
  timer = setTimeout(() => { offer.value = null; }, SECONDS * 1000);
}

/** Offer to take an entry back that was just written. */
export function offerWithdrawal(text: string, record_id: string, event_id: string): void {
  offerUndo(text, () => withdraw(record_id, event_id, t.case.undoReason));
}

/** Stands in a place of its own height, so that nothing under a finger moves or is covered. */
export function UndoSlot({ children }: { children: ComponentChildren }) {
  const now = offer.value;
  return (
    <div class="slot" aria-live="polite">
      {now ? (
        <div class="undo">
          <span>{now.text}</span>
          <Press id="undo" onPress={() => { offer.value = null; void attempt(async () => { await now.run(); }); }}>{t.common.undo}</Press>
        </div>
      ) : children}
    </div>
  );
}

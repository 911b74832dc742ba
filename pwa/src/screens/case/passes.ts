/** Starting a pass from a screen: close the timer first, offer to take it back after. */
import type { EventDraft } from "../../events/build";
import { laserDraft, startPass, withdraw } from "../../session/commands";
import { firstOf, type RecordDocument } from "../../session/fold";
import { ownRecords } from "../../session/state";
import { cameBack, clearTimer, elapsed, running } from "../../session/timer";
import type { PassPlan } from "../../session/types";
import { t } from "../../text";
import { attempt } from "../attempt";
import { offerUndo } from "../undo";

const UNDO_MS = 10_000;
/** The pass that a plus or minus made last, while it may still be stepped on. */
let justStepped: { pass_id: string; at_ms: number } | null = null;

/** Start a pass; answers whether it is saved. */
export async function beginPass(record: RecordDocument, plan: PassPlan, byStep = false): Promise<boolean> {
  return attempt(async () => {
    const closing = closeTimer(record);
    const open = record.passes[record.passes.length - 1];
    const unused = byStep && open && closing.length === 0 && open.laser_on.length === 0
      && justStepped?.pass_id === open.pass_id && Date.now() - justStepped.at_ms < UNDO_MS;
    const event_id = await startPass(record, plan, unused
      ? { closing, replaces: { event_id: firstOf(record.history, open.event_id), number: open.number, reason: t.case.steppedOn } }
      : { closing });
    if (closing.length > 0) clearTimer();
    const now = ownRecords.value.find((r) => r.record_id === record.record_id);
    const made = now?.passes.find((p) => p.event_id === event_id);
    justStepped = byStep && made ? { pass_id: made.pass_id, at_ms: Date.now() } : null;
    offerUndo(t.case.undoPass(made?.number ?? record.passes.length + 1), () => withdraw(record.record_id, event_id, t.case.undoReason));
  });
}

/** A running timer's time belongs to the pass it ran in. */
function closeTimer(record: RecordDocument): EventDraft[] {
  const timer = running.value;
  if (!timer || timer.record_id !== record.record_id) return [];
  return [laserDraft(timer.record_id, timer.pass_id, elapsed(timer, Date.now()), cameBack.value ? "estimate" : "timer", null)];
}

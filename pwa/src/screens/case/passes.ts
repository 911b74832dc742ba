/** Starting a pass from a screen: close the timer first, offer to take it back after. */
import type { EventDraft } from "../../events/build";
import { sentence } from "../../parts/dose";
import { laserDraft, Refused, startPass, withdraw } from "../../session/commands";
import { doseOf, refusals } from "../../session/dosing";
import { firstOf, type RecordDocument } from "../../session/fold";
import { stepped } from "../../session/settings";
import { ownRecords } from "../../session/state";
import { cameBack, clearTimer, elapsed, running } from "../../session/timer";
import type { Device, PassPlan, Settings } from "../../session/types";
import { t } from "../../text";
import { attempt, inTurn } from "../attempt";
import { offerUndo } from "../undo";
import { currentPlan, lastPass } from "./plan-now";

const UNDO_MS = 10_000;
/** The pass that a plus or minus made last, while it may still be stepped on. */
let justStepped: { pass_id: string; at_ms: number } | null = null;

/** Start a pass; answers whether it is saved. */
export function beginPass(record: RecordDocument, plan: PassPlan): Promise<boolean> {
  return attempt(() => begin(record, plan, false));
}

/** One step of plus or minus. Several may follow each other faster than they are saved: each starts from the last. */
export function stepPass(record_id: string, device: Device | null, field: string, direction: 1 | -1): Promise<boolean> {
  return inTurn(async () => {
    const record = ownRecords.value.find((r) => r.record_id === record_id);
    const plan = record && currentPlan(record, device);
    if (!record || !plan) return;
    const next = look(stepped(plan.settings, field, direction), device);
    if (next.refused) throw new Refused("settings", next.refused);
    await begin(record, { ...plan, settings: next.settings }, true);
  });
}

async function begin(record: RecordDocument, plan: PassPlan, byStep: boolean): Promise<void> {
  const closing = closeTimer(record);
  const open = lastPass(record);
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
}

/** Where a step would lead, and what the laser's limits or the physics say to it. */
export function look(settings: Settings, device: Device | null): { settings: Settings; refused: string | null } {
  const said = device ? Object.values(refusals(settings, device)) : [];
  if (said.length > 0) return { settings, refused: sentence(said[0]!) };
  const outcome = doseOf(settings);
  return { settings, refused: outcome.ok ? null : Object.values(outcome.errors).flat().map(sentence).join(" ") };
}

/** A running timer's time belongs to the pass it ran in. */
function closeTimer(record: RecordDocument): EventDraft[] {
  const timer = running.value;
  if (!timer || timer.record_id !== record.record_id) return [];
  return [laserDraft(timer.record_id, timer.pass_id, elapsed(timer, Date.now()), cameBack.value ? "estimate" : "timer", null)];
}

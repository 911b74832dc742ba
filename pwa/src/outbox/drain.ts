/** Sending what waits, in order, by one sender at a time (Web Lock `drain`). */

import { utf8 } from "../events/bytes";
import type { Item } from "../events/build";
import { surroundings } from "../events/surroundings";
import { BATCH_LIMIT_BYTES, BATCH_LIMIT_EVENTS, batchLength, decide, judge } from "./policy";
import { readWaiting } from "./read";
import { heldFrom, settle } from "./settle";

/** How a batch reaches the server; supplied by sync. */
export interface Carrier {
  /** Status null: no answer came. */
  push(items: Item[]): Promise<{ status: number | null; results: unknown; code?: string }>;
  /** Get a new tablet token; false where that did not work. */
  renew(): Promise<boolean>;
  /** Go over to the epoch of a restored log; false where that did not work. */
  follow(): Promise<boolean>;
  raise(code: string, text: string, blocking: boolean): Promise<void>;
  /** Called after each batch whose results were written down. */
  progress?(): void;
}

export type DrainEnd = "empty" | "busy" | "wait" | "pause" | "stop";

/** Send until nothing waits or something stands in the way; says which. */
export async function drain(carrier: Carrier): Promise<DrainEnd> {
  return await surroundings().locks().request(
    "drain", { ifAvailable: true }, async (lock): Promise<DrainEnd> => (lock === null ? "busy" : send(carrier)));
}

async function send(carrier: Carrier): Promise<DrainEnd> {
  let limit_events = BATCH_LIMIT_EVENTS;
  let renewed = false;
  let followed = false;
  for (;;) {
    const waiting = await readWaiting(limit_events);
    if (waiting.length === 0) return "empty";
    const sizes = waiting.map((item) => utf8(JSON.stringify(item)).length + 1);
    const batch = waiting.slice(0, batchLength(sizes, limit_events, BATCH_LIMIT_BYTES - ENVELOPE_BYTES));
    const { status, results, code } = await carrier.push(batch);
    const decision = decide(status, renewed, batch.length, code);
    if (decision.kind === "wait") return "wait";
    if (decision.kind === "pause") {
      await carrier.raise(decision.code, decision.text, false);
      return "pause";
    }
    if (decision.kind === "renew") {
      renewed = true;
      if (!(await carrier.renew())) return "wait";
    } else if (decision.kind === "follow") {
      // Twice in one run: it was restored once more, or something is wrong; later, in either case.
      if (followed || !(await carrier.follow())) return "wait";
      followed = true;
    } else if (decision.kind === "halve") {
      limit_events = Math.floor(batch.length / 2);
    } else {
      const judgement = judge(batch, results, await heldFrom());
      await settle(judgement.settle, judgement.rewind_to);
      carrier.progress?.();
      if (judgement.attention !== null) {
        await carrier.raise(judgement.attention.code, judgement.attention.text, judgement.attention.blocking);
      }
      if (judgement.next !== "again") return judgement.next;
    }
  }
}

/** Room for what surrounds the items in a request. */
const ENVELOPE_BYTES = 256;

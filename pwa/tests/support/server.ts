/** A server's side of push in a few lines: what it holds, in order, and faults on demand. */

import type { Item } from "../../src/events/build";
import type { Carrier } from "../../src/outbox/drain";

export type Fault =
  | "none" | "lost request" | "lost reply" | "retry in the middle" | "500" | "503" | "413" | "401" | "empty reply"
  | "reordered reply";

export class FakeServer {
  readonly held: Item[] = [];
  readonly raised: string[] = [];
  readonly fault: Fault[] = [];
  readonly batches: number[] = [];
  token_good = true;
  renewals = 0;

  carrier(): Carrier {
    return {
      push: (items) => Promise.resolve(this.push(items)),
      renew: () => {
        this.renewals += 1;
        this.token_good = true;
        return Promise.resolve(true);
      },
      follow: () => Promise.resolve(false),
      raise: (code) => {
        this.raised.push(code);
        return Promise.resolve();
      },
    };
  }

  private push(items: Item[]): { status: number | null; results: unknown } {
    this.batches.push(items.length);
    const fault = this.fault.shift() ?? "none";
    if (fault === "lost request") return { status: null, results: null };
    if (fault === "500" || fault === "503") return { status: Number(fault), results: null };
    if (fault === "401" || !this.token_good) return { status: 401, results: null };
    if (fault === "413" && items.length > 1) return { status: 413, results: null };
    const stop = fault === "retry in the middle" ? Math.floor(items.length / 2) : items.length;
    const results = items.map((item, index) => ({
      event_id: item.event_id, tablet_seq: item.tablet_seq,
      ...(index >= stop ? { outcome: "retry" } : this.take(item)),
    }));
    if (fault === "lost reply") return { status: null, results: null };
    if (fault === "empty reply") return { status: 200, results: undefined };
    return { status: 200, results: fault === "reordered reply" ? results.reverse() : results };
  }

  private take(item: Item): { outcome: string; position?: number; expected_seq?: number } {
    const at = this.held.findIndex((held) => held.event_id === item.event_id);
    if (at >= 0) {
      return this.held[at]?.body === item.body ? { outcome: "duplicate", position: at + 1 } : { outcome: "id_reuse" };
    }
    const expected = this.held.length + 1;
    if (item.tablet_seq > expected) return { outcome: "gap", expected_seq: expected };
    if (item.tablet_seq < expected) return { outcome: "fork" };
    this.held.push(item);
    return { outcome: "applied", position: this.held.length };
  }
}

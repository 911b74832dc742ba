/** What to do with what the server said. Pure: no clock, no storage, no network. */

import type { Item } from "../events/build";

export const BATCH_LIMIT_EVENTS = 50;
export const BATCH_LIMIT_BYTES = 256 * 1024;
const BACKOFF_FIRST_MS = 1_000;
const BACKOFF_LAST_MS = 300_000;

/** One result of the server, for one event. */
export interface PushResult {
  event_id: string;
  tablet_seq: number;
  outcome: string;
  position?: number;
  reason?: string;
  /** With `duplicate`: what was decided the first time. */
  verdict?: string;
  expected_seq?: number;
  current?: unknown;
}

/** What a whole answer means. `again`: go on at once; `wait`: try later; `pause`: a person is needed. */
export type Decision =
  | { kind: "results" } | { kind: "renew" } | { kind: "follow" } | { kind: "halve" } | { kind: "wait" }
  | { kind: "pause"; code: string; text: string };

export interface Judgement {
  settle: PushResult[];
  /** Offer again everything from this sequence on: the server does not hold it. */
  rewind_to: number | null;
  next: "again" | "wait" | "stop";
  attention: { code: string; text: string; blocking: boolean } | null;
}

/**
 * Milliseconds to wait before the next try: doubling from 1 s to 5 min, the upper half of it by
 * chance, so that tablets that lost one server do not all come back in the same moment.
 */
export function backoffMs(failures: number, fraction: number): number {
  const longest = Math.min(BACKOFF_LAST_MS, BACKOFF_FIRST_MS * 2 ** Math.min(failures, 20));
  return Math.max(BACKOFF_FIRST_MS, Math.round(longest * (0.5 + fraction / 2)));
}

/** How many of the waiting items, from the first on, fit one request; at least one. */
export function batchLength(sizes_bytes: readonly number[], limit_events: number, limit_bytes: number): number {
  let bytes = 0;
  let count = 0;
  for (const size of sizes_bytes.slice(0, limit_events)) {
    bytes += size;
    if (count > 0 && bytes > limit_bytes) break;
    count += 1;
  }
  return count;
}

/** Read a request's status; `renewed` and `length` say what was already tried. */
export function decide(status: number | null, renewed: boolean, length: number, code?: string): Decision {
  if (status === 200) return { kind: "results" };
  if (status === 401) {
    return renewed
      ? { kind: "pause", code: "tablet_signed_out", text: "The server does not accept this tablet. Everything is kept here." }
      : { kind: "renew" };
  }
  if (status === 403) {
    const text = SHUT_OUT[code ?? ""];
    if (code !== undefined && text !== undefined) return { kind: "pause", code, text };
    return { kind: "pause", code: "tablet_not_allowed", text: "The server refuses this tablet. Everything is kept here." };
  }
  if (status === 409 && code === "epoch_changed") return { kind: "follow" };
  if (status === 409) {
    return { kind: "pause", code: "epoch_changed", text: "The server's log was restored. Everything is kept here." };
  }
  if (status === 413) {
    return length > 1
      ? { kind: "halve" }
      : { kind: "pause", code: "too_large", text: "The server does not take an entry of this size. It is kept here." };
  }
  if (status === 426) {
    return { kind: "pause", code: "upgrade", text: "This app is too old for the server. Update it; everything is kept here." };
  }
  if (status !== null && status >= 400 && status < 500 && status !== 408 && status !== 429) {
    return { kind: "pause", code: "refused", text: "The server cannot read what this tablet sends. Everything is kept here." };
  }
  return { kind: "wait" };
}

const SHUT_OUT: Readonly<Record<string, string>> = {
  tablet_revoked: "This tablet was revoked. Everything is kept here.",
  tablet_unconfirmed: "The server does not know this tablet any more. An administrator has to confirm it. Everything is kept here.",
};

const REVIEWED = new Set(["conflict", "quarantined"]);
const SETTLING = new Set(["applied", "duplicate", "conflict", "quarantined"]);

/**
 * Match results to what was sent, in order.
 *
 * An event is settled only by a result that names it, at its own place. What has no such result
 * stays. `held_from` is the lowest sequence this tablet still holds.
 */
export function judge(sent: readonly Item[], results: unknown, held_from: number): Judgement {
  const judgement: Judgement = { settle: [], rewind_to: null, next: "again", attention: null };
  const list = Array.isArray(results) ? (results as unknown[]) : [];
  for (const [index, item] of sent.entries()) {
    const result = asResult(list[index]);
    if (result === null || result.event_id !== item.event_id || result.tablet_seq !== item.tablet_seq) {
      return { ...judgement, next: "wait" };
    }
    if (SETTLING.has(result.outcome)) {
      // A duplicate carries what was decided the first time, when that answer was lost.
      const first = result.verdict ?? "applied";
      const outcome = result.outcome === "duplicate" && REVIEWED.has(first) ? first : result.outcome;
      judgement.settle.push({ ...result, outcome });
      if (outcome === "quarantined") {
        judgement.attention = {
          code: "quarantined", blocking: false,
          text: "The server keeps an entry apart until somebody has looked at it.",
        };
      }
    } else {
      return { ...judgement, ...unsettled(result, held_from) };
    }
  }
  return judgement;
}

function unsettled(result: PushResult, held_from: number): Partial<Judgement> {
  if (result.outcome === "gap") {
    const expected = result.expected_seq;
    if (expected !== undefined && expected >= held_from && expected < result.tablet_seq) {
      return { next: "wait", rewind_to: expected };
    }
    return stop("gap", "The server misses entries that this tablet no longer holds. Nothing more is sent.");
  }
  if (result.outcome === "fork") {
    return stop("fork", "Another copy of this tablet has sent entries. Enrol this tablet again; everything is kept here.");
  }
  if (result.outcome === "id_reuse") {
    return stop("id_reuse", "The server holds another entry under the same name. Nothing more is sent.");
  }
  // `retry`, and anything this version does not know: kept and tried again.
  return { next: "wait" };
}

function stop(code: string, text: string): Partial<Judgement> {
  return { next: "stop", attention: { code, text, blocking: true } };
}

function asResult(value: unknown): PushResult | null {
  if (typeof value !== "object" || value === null) return null;
  const { event_id, tablet_seq, outcome } = value as Partial<PushResult>;
  return typeof event_id === "string" && typeof tablet_seq === "number" && typeof outcome === "string"
    ? (value as PushResult)
    : null;
}

/** A tablet drops its own event only when it is inside a verified backup and 30 days old. */
export function mayDrop(
  result: { outcome?: string; position?: number } | null, age_ms: number, durable_position: number | null,
): boolean {
  return (
    result?.position !== undefined && durable_position !== null &&
    result.position <= durable_position && age_ms >= 30 * 86_400_000
  );
}

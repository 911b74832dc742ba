/** When to send and pull: after a save, at start, online, visible, by a timer; and what the screen may say. */

import { surroundings } from "../events/surroundings";
import { onAppend } from "../outbox/append";
import { drain, type Carrier } from "../outbox/drain";
import { backoffMs, decide } from "../outbox/policy";
import { countWaiting } from "../outbox/read";
import { chain, putRestoredAway, restored } from "../store/documents";
import type { Restored } from "../store/house";
import { attention, clearAttention, contact, identity, noteTime, raiseAttention } from "../store/identity";
import { readKeys } from "../store/keys";
import { LogChanged } from "./chain";
import { NoAnswer, readJson, Refused } from "./client";
import { followEpoch } from "./epoch";
import { onPerson, personToken, sessionEnded } from "./people";
import { pull } from "./pull";
import { askAsTablet, renewToken } from "./token";
import { raiseAlarm } from "./witness";

export interface SyncStatus {
  online: boolean;
  waiting: number;
  last_contact: string | null;
  attention: null | { code: string; text: string; blocking: boolean };
  syncing: boolean;
  /** Up to where the log is inside a verified backup, as the server last said. */
  durable_position: number | null;
  /** The last restore of the server, until somebody here has read of it. */
  restored: Restored | null;
}

const PROTOCOL = 1;
const IDLE_MS = 30_000;
/** Raised by a request that was refused, so taken back by one that was not. */
const CLEARED_BY_SUCCESS = ["tablet_signed_out", "tablet_not_allowed", "tablet_revoked", "tablet_unconfirmed", "upgrade", "too_large", "epoch_changed", "refused", "log_changed"];

/** Such a tablet reads nothing. */
const HANDS_IN = new Set(["tablet_revoked", "tablet_unconfirmed"]);

const RESTORED = new Set(["epoch_changed", "tablet_unconfirmed"]);

const listeners = new Set<(status: SyncStatus) => void>();
let reached = false;
let syncing = false;
let failures = 0;
let again = false;
let running: Promise<void> | null = null;
let timer: ReturnType<typeof setTimeout> | null = null;
let started = false;

/** Be told the status, now and whenever it changes; returns the function that ends it. */
export function onStatus(listener: (status: SyncStatus) => void): () => void {
  listeners.add(listener);
  void status().then(listener, () => undefined);
  return () => listeners.delete(listener);
}

export async function status(): Promise<SyncStatus> {
  const [waiting, known, raised, log, restore] = await Promise.all([
    countWaiting(), contact(), attention(), chain(), restored(),
  ]);
  return {
    online: reached && globalThis.navigator?.onLine !== false,
    waiting,
    last_contact: known.last_contact,
    attention: raised === null ? null : { code: raised.code, text: raised.text, blocking: raised.blocking },
    syncing,
    durable_position: log?.durable_position ?? null,
    restored: restore,
  };
}

/** Somebody has read that the server was restored. */
export async function readOfRestore(): Promise<void> {
  await putRestoredAway();
  announce();
}

/** Begin: a first run now, then whenever something wakes it. Calling it twice does nothing. */
export function startSync(): void {
  if (started) return;
  started = true;
  const wake = (): void => void syncNow();
  onAppend(() => { announce(); wake(); });
  onPerson(() => { if (personToken() !== null) wake(); });
  globalThis.addEventListener?.("online", () => {
    // A run that began without a network may still be failing: the next one must not wait for minutes.
    failures = 0;
    wake();
  });
  globalThis.addEventListener?.("offline", announce);
  globalThis.document?.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") wake();
  });
  wake();
}

/** Send and pull now. Resolves when this run, and one that was asked for during it, is over. */
export function syncNow(): Promise<void> {
  if (running !== null) {
    again = true;
    return running;
  }
  running = (async () => {
    do {
      again = false;
      await once();
      // Not at once after a failure: the timer comes back with growing pauses.
    } while (again && failures === 0);
  })().finally(() => {
    running = null;
    schedule();
  });
  return running;
}

async function once(): Promise<void> {
  // Without keys there is nothing to send, and no way to say who sends it.
  if ((await identity()) === null || (await readKeys()) === null) return;
  // Often, so that the time without the server is counted whatever is done to the clock in between.
  await noteTime();
  syncing = true;
  announce();
  try {
    const blocked = (await attention())?.blocking === true;
    const end = blocked ? "stop" : await drain(carrier);
    if (end === "wait" || end === "pause") {
      // Not even tried: what the server does not take now is more urgent than what it has to tell.
      failures += 1;
      return;
    }
    try {
      await following(() => pull("house", null));
      await following(pullRecords);
    } catch (problem) {
      // A tablet that was revoked is told nothing, and hands in what it holds all the same.
      if (problem instanceof Refused && HANDS_IN.has(problem.code)) await sendPictures();
      throw problem;
    }
    await sendPictures();
    reached = true;
    failures = 0;
    await clearAttention(CLEARED_BY_SUCCESS);
  } catch (problem) {
    failures += 1;
    if (problem instanceof LogChanged || problem instanceof Refused) reached = true;
    if (problem instanceof NoAnswer) reached = false;
    if (problem instanceof LogChanged || (problem instanceof Refused && problem.code === "log_behind_cursor")) await raiseAlarm(problem);
    if (problem instanceof Refused) await raiseRefusal(problem);
  } finally {
    syncing = false;
    announce();
  }
}

/** Where the server's log was restored, go over to it, pull from there, and then send what it lost. */
async function following(work: () => Promise<void>): Promise<void> {
  try {
    await work();
  } catch (problem) {
    if (!(problem instanceof Refused) || !RESTORED.has(problem.code)) throw problem;
    const moved = await followEpoch();
    if (moved) again = true;
    // A tablet that the restored server does not know reads nothing until it is confirmed.
    if (!moved || problem.code !== "epoch_changed") throw problem;
    await work();
  }
}

/** Pictures have pauses of their own, and keep nothing else from being sent. */
async function sendPictures(): Promise<void> {
  await import("./photographs").then((m) => m.sendPhotographs()).catch(() => undefined);
}

async function pullRecords(): Promise<void> {
  const person = personToken();
  if (person === null) return;
  try {
    await pull("records", person);
  } catch (problem) {
    if (!(problem instanceof Refused) || (problem.status !== 401 && problem.status !== 403)) throw problem;
    // What is said of the tablet itself says nothing about whoever is signed in on it.
    if (problem.code.startsWith("tablet_")) throw problem;
    // The person's token ran out, or this role reads no records: sending does not depend on it.
    // While the answer was under way somebody else may have signed in, whose token it says nothing about.
    if (problem.status === 401 && personToken() === person) sessionEnded();
  }
}

/** Say why a pull was refused, in the words for a push of the same status. */
async function raiseRefusal(refused: Refused): Promise<void> {
  // These two have a notice of their own already.
  if (refused.code === "log_behind_cursor" || refused.code === "tablet_revoked") return;
  const decision = decide(refused.status, true, 1, refused.code);
  if (decision.kind === "pause") await raiseAttention(decision.code, decision.text, false);
}

const carrier: Carrier = {
  async push(items) {
    try {
      const [epoch, waiting] = [(await identity())?.epoch, await countWaiting()];
      const answer = await askAsTablet("sync/push", { body: { protocol: PROTOCOL, epoch, items, waiting } });
      reached = true;
      if (answer.status !== 200) return { status: answer.status, results: null, ...(await codeOf(answer)) };
      return { status: 200, results: (await readJson<{ results?: unknown }>(answer)).results };
    } catch (problem) {
      if (problem instanceof Refused) return { status: problem.status, results: null };
      reached = false;
      return { status: null, results: null };
    }
  },
  async renew() {
    try {
      await renewToken();
      return true;
    } catch (problem) {
      // Refused: let the next push meet the same 401 and pause with its notice.
      return problem instanceof Refused;
    }
  },
  async follow() {
    try {
      return await followEpoch();
    } catch (problem) {
      if (problem instanceof NoAnswer) reached = false;
      return false;
    }
  },
  raise: raiseAttention,
  progress: () => announce(),
};

async function codeOf(answer: Response): Promise<{ code?: string }> {
  const problem = await answer.json().catch(() => null) as { code?: unknown } | null;
  return typeof problem?.code === "string" ? { code: problem.code } : {};
}

function schedule(): void {
  if (!started) return;
  if (timer !== null) clearTimeout(timer);
  const wait_ms = failures === 0 ? IDLE_MS : backoffMs(failures - 1, surroundings().fraction());
  timer = setTimeout(() => void syncNow(), wait_ms);
}

function announce(): void {
  void status().then((now) => {
    for (const listener of listeners) listener(now);
  }, () => undefined);
}

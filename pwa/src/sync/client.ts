/** Requests to the server of this origin: one time-out, one kind of error, tokens only in memory. */

import { surroundings, type Bytes } from "../events/surroundings";
import { noteContact } from "../store/identity";

const TIMEOUT_MS = 20_000;

/** No answer came: no network, no server, or too slow. */
export class NoAnswer extends Error {
  override readonly name = "NoAnswer";
  readonly code = "no_answer";
}

/** The server answered, and said no. */
export class Refused extends Error {
  override readonly name = "Refused";
  readonly status: number;
  readonly code: string;
  readonly facts: Record<string, unknown>;

  constructor(status: number, facts: Record<string, unknown>) {
    super(typeof facts.detail === "string" ? facts.detail : `The server answered ${status}.`);
    this.status = status;
    this.code = typeof facts.code === "string" ? facts.code : `status_${status}`;
    this.facts = facts;
  }
}

export interface Asked {
  method?: "GET" | "POST" | "PUT" | "DELETE";
  body?: unknown;
  /** A body that is no JSON, and what it is. */
  bytes?: { content: Bytes; type: string };
  /** Longer than usual, for what is large. */
  timeout_ms?: number;
  headers?: Record<string, string>;
}

/** The location that a desk's page shows; null on a tablet, which belongs to one. */
let shown: string | null = null;
/** And for whom: another may have signed in at this browser, in another tab. */
let shownTo: string | null = null;
const movers = new Set<() => void>();

/** Say with each request for which location, and for whom, this page was made; the server refuses what is not. */
export function askFor(location_id: string | null, person_id: string | null = null): void {
  shown = location_id;
  shownTo = person_id;
}

/** Be told when it turns out that this browser has gone on to another location; returns what ends it. */
export function onMoved(listener: () => void): () => void {
  movers.add(listener);
  return () => movers.delete(listener);
}

const signedOut = new Set<() => void>();
const replaced = new Set<() => void>();
const notAllowed = new Set<() => void>();

/** At a desk: be told that the session is over, whatever was asked; returns what ends it. */
export function onSignedOut(listener: () => void): () => void {
  signedOut.add(listener);
  return () => signedOut.delete(listener);
}

/** At a desk: be told that somebody else has signed in at this browser; returns what ends it. */
export function onReplaced(listener: () => void): () => void {
  replaced.add(listener);
  return () => replaced.delete(listener);
}

/** At a desk: be told that a right was missing, which it may have not been before; returns what ends it. */
export function onNotAllowed(listener: () => void): () => void {
  notAllowed.add(listener);
  return () => notAllowed.delete(listener);
}

/** What is asked to find out where one is, or to leave, is for no location. */
const ABOUT_ONESELF = "session";

/** Ask and return the raw answer, whatever its status; throws NoAnswer only. */
export async function ask(path: string, asked: Asked = {}): Promise<Response> {
  const stop = new AbortController();
  const alarm = setTimeout(() => stop.abort(), asked.timeout_ms ?? TIMEOUT_MS);
  const began_ms = surroundings().now();
  try {
    const answer = await surroundings().fetch(`/api/v1/${path}`, {
      method: asked.method ?? (asked.body === undefined ? "GET" : "POST"),
      headers: {
        Accept: "application/json",
        ...(asked.body === undefined ? {} : { "Content-Type": "application/json" }),
        ...(asked.bytes === undefined ? {} : { "Content-Type": asked.bytes.type }),
        ...(shown === null || path === ABOUT_ONESELF ? {} : { "Dosebook-Location": shown }),
        ...(shownTo === null || path === ABOUT_ONESELF ? {} : { "Dosebook-Signed-In": shownTo }),
        ...asked.headers,
      },
      body: asked.bytes?.content ?? (asked.body === undefined ? null : JSON.stringify(asked.body)),
      credentials: "same-origin",
      cache: "no-store",
      signal: stop.signal,
    });
    // Read it all inside the time-out, so that an answer that stops half way counts as none.
    const content = await answer.blob();
    const whole = new Response(answer.status === 204 ? null : content, {
      status: answer.status, headers: answer.headers,
    });
    whole.headers.set(SENT_AT, String((began_ms + surroundings().now()) / 2));
    return whole;
  } catch (problem) {
    throw new NoAnswer("The server cannot be reached.", { cause: problem });
  } finally {
    clearTimeout(alarm);
  }
}

/** Ask for JSON; throws Refused for any status that is not 2xx. */
export async function askJson<T>(path: string, asked: Asked = {}): Promise<T> {
  return readJson<T>(await ask(path, asked));
}

/** Read an answer's JSON, note the server's time, throw Refused where it is not 2xx. */
export async function readJson<T>(answer: Response): Promise<T> {
  const content = await answer.text();
  let parsed: unknown = null;
  try {
    parsed = content === "" ? null : JSON.parse(content);
  } catch {
    // A proxy's page is an answer too, though not ours: only its status counts.
  }
  const facts = typeof parsed === "object" && parsed !== null ? (parsed as Record<string, unknown>) : {};
  if (facts.code === "location_changed") for (const listener of movers) listener();
  if (shown !== null && answer.status === 401 && facts.code === "not_signed_in") for (const listener of signedOut) listener();
  if (shown !== null && answer.status === 403 && facts.code === "not_allowed") for (const listener of notAllowed) listener();
  if (facts.code === "person_changed") for (const listener of replaced) listener();
  if (!answer.ok) throw new Refused(answer.status, facts);
  // A sign-in page of some network in between answers 200 as well.
  if (parsed === null && answer.status !== 204) throw new NoAnswer("The answer did not come from the server.");
  if (typeof facts.server_time === "string") {
    await noteContact(facts.server_time, Number(answer.headers.get(SENT_AT)));
  }
  return parsed as T;
}

const SENT_AT = "x-asked-at-ms";

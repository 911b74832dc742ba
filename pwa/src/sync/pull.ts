/** Pulling a feed page by page; a page, its cursor and the recomputed chain are stored together. */

import { dropDurable, noteDecided, type Decided } from "../outbox/settle";
import { chain, cursorOf, documents as stored, storePage, type Feed, type PulledDocument } from "../store/documents";
import type { ChainRow, Head } from "../store/house";
import { attention, clearAttention, identity, raiseAttention } from "../store/identity";
import { forgetPin, heedRoles } from "../store/people";
import { FIRST_LINK, LogChanged, walk, type EntryHashes } from "./chain";
import { readJson, Refused } from "./client";
import { verifySignature } from "./enrol";
import { askAsTabletRenewing } from "./token";
import { seen } from "./witness";
import { remember } from "./trail";

interface Page {
  documents: (Omit<PulledDocument, "body"> & { body: object | string | null })[];
  entries?: EntryHashes[];
  previous_link?: string;
  next_cursor: string;
  more: boolean;
  head: { text: string; signature: string };
  server_time: string;
  durable_position?: number | null;
}

export const LOG_CHANGED_TEXT =
  "The server's log is not the one this tablet has seen. Tell whoever looks after the server before going on.";

/** Pull everything new of one feed; `person_token` is needed for records. Throws NoAnswer or Refused. */
export async function pull(feed: Feed, person_token: string | null): Promise<void> {
  const who = await identity();
  if (who === null) return;
  const pictures = feed === "house" ? await import("../outbox/photographs") : null;
  // Before anything is asked: the answer then tells of a moment at which the server had them.
  const there = (await pictures?.photographsToPlace().catch(() => [])) ?? [];
  for (;;) {
    const cursor = await cursorOf(feed);
    const query = new URLSearchParams({ feed, ...(cursor === null ? {} : { cursor }), ...(feed === "house" ? await seen() : {}) });
    const headers: Record<string, string> = person_token === null ? {} : { "Dosebook-Person": person_token };
    const page = await ask(`sync/pull?${query.toString()}`, headers);
    let walked: ChainRow | null = null;
    try {
      const head = await readHead(who.server_public_key, page.head);
      if (feed === "house") {
        const before = (await chain()) ?? {
          epoch: who.epoch, position: 0, link: FIRST_LINK, heads: [], durable_position: null,
        };
        walked = {
          ...(await walk(before, page.previous_link ?? "", page.entries ?? [], head)),
          durable_position: page.durable_position ?? null,
        };
        walked = { ...walked, trail: remember(walked.trail ?? [], walked) };
      }
    } catch (problem) {
      if (!(problem instanceof LogChanged)) throw problem;
      await raiseAttention("log_changed", LOG_CHANGED_TEXT, false);
      throw problem;
    }
    const documents = page.documents.map((document): PulledDocument => ({
      kind: document.kind,
      doc_id: document.doc_id,
      position: document.position,
      body: typeof document.body === "string" ? (JSON.parse(document.body) as object) : document.body,
    }));
    // First, so that a page that was half taken leaves nobody in who is out.
    await forgetWhoLeft(documents);
    if (!(await storePage(feed, documents, page.next_cursor, walked, !page.more))) return;
    if (feed === "house") await heedDecisions(documents.some(({ kind }) => kind === "aside"), page.more);
    if (walked !== null) await dropDurable(walked.durable_position);
    if (walked !== null && !page.more) await pictures?.placePhotographs(there, walked.position);
    // Also without news: what could not be done the last time is tried again.
    if (feed === "house" && !page.more) await import("./erase").then((erase) => erase.heedErasures()).catch(() => undefined);
    // A server that says "more" without moving would keep this going for ever.
    if (!page.more || page.next_cursor === cursor) return;
  }
}

/** What was put aside and is released or rejected by now needs nobody's attention any more. */
async function heedDecisions(news: boolean, more: boolean): Promise<void> {
  const raised = (await attention())?.code === "quarantined";
  // Also without news: an answer that was lost may be heard after the decision.
  if (!news && (more || !raised)) return;
  const left = await noteDecided((await stored("aside")) as Decided[]);
  if (raised && !left) await clearAttention(["quarantined"]);
}

/** The PIN of somebody whose work here has ended opens nothing here from now on, and in another role no records. */
async function forgetWhoLeft(documents: readonly PulledDocument[]): Promise<void> {
  for (const { kind, doc_id, body } of documents) {
    if (kind !== "person") continue;
    const said = body as { left_at?: string | null; roles?: string[]; auditor_until?: string | null } | null;
    if (said === null || said.left_at) await forgetPin(doc_id);
    else await heedRoles(doc_id, said);
  }
}

async function ask(path: string, headers: Record<string, string>): Promise<Page> {
  try {
    return await readJson<Page>(await askAsTabletRenewing(path, { headers }));
  } catch (problem) {
    // The server says itself that its log ends before what this tablet has already seen.
    if (problem instanceof Refused && problem.code === "log_behind_cursor") {
      await raiseAttention("log_changed", LOG_CHANGED_TEXT, false);
    }
    throw problem;
  }
}

/** Check a head's signature with the server's key as it was at enrolment. */
async function readHead(public_key: string, head: Page["head"]): Promise<Head> {
  if (!(await verifySignature(public_key, head.text, head.signature).catch(() => false))) {
    throw new LogChanged(0, "a head signed by the server", head.signature);
  }
  return JSON.parse(head.text) as Head;
}

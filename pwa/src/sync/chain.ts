/** The tablet as witness: it recomputes the log's links from entry hashes and checks signed heads. Pure but for hashing. */

import { concat, fromHex, hex, sha256, utf8 } from "../events/bytes";
import type { ChainRow, Head } from "../store/house";

/** An entry of the log is its two hashes. */
export interface EntryHashes { position: number; header_hash: string; body_hash: string }

export class LogChanged extends Error {
  override readonly name = "LogChanged";
  readonly position: number;
  readonly expected: string;
  readonly found: string;

  constructor(position: number, expected: string, found: string) {
    super(`the log does not fit at position ${position}: expected ${expected}, found ${found}`);
    this.position = position;
    this.expected = expected;
    this.found = found;
  }
}

export const FIRST_LINK = "0".repeat(64);
const LINK_TAG = utf8("dosebook-link-1");

/** link = SHA-256("dosebook-link-1" | previous link | SHA-256(header) | SHA-256(body)), lower-case hex. */
export async function nextLink(previous: string, entry: EntryHashes): Promise<string> {
  const parts = [LINK_TAG, fromHex(previous), fromHex(entry.header_hash), fromHex(entry.body_hash)];
  return hex(await sha256(concat(...parts)));
}

/**
 * Walk from what this tablet knows over the entries of one page.
 *
 * `head` is the signed head that came with the page, its signature already checked. Heads beyond
 * the page are kept and compared when the walk reaches them. Throws LogChanged with the position.
 */
export async function walk(
  known: ChainRow, previous_link: string, entries: readonly EntryHashes[], head: Head,
): Promise<ChainRow> {
  if (previous_link !== known.link) throw new LogChanged(known.position, known.link, previous_link);
  if (head.epoch !== known.epoch) throw new LogChanged(known.position, known.epoch, head.epoch);
  // A head is promised for ever: a shorter log than the one once signed was cut.
  const longest = Math.max(known.position, ...known.heads.map((each) => each.position));
  if (head.position < longest) throw new LogChanged(head.position, String(longest), String(head.position));
  const heads = [...known.heads, head];
  let { position, link } = known;
  checkHeads(heads, position, link);
  for (const entry of entries) {
    if (entry.position !== position + 1) {
      throw new LogChanged(position + 1, String(position + 1), String(entry.position));
    }
    link = await nextLink(link, entry);
    position = entry.position;
    checkHeads(heads, position, link);
  }
  const ahead = new Map(heads.filter((each) => each.position > position).map((each) => [each.position, each]));
  return { ...known, position, link, heads: [...ahead.values()] };
}

function checkHeads(heads: readonly Head[], position: number, link: string): void {
  for (const head of heads) {
    if (head.position === position && head.link !== link) throw new LogChanged(position, head.link, link);
  }
}

/**
 * Putting a new text in the place of a file's, so that a kill at any moment leaves one of the two
 * whole: first all of it beside, with its length and hash before it, read back; then into the
 * file; then what lies beside goes. While that is whole, it is what counts.
 */

import { hex, sha256, text as textOf, utf8 } from "../events/bytes";
import type { Bytes } from "../events/surroundings";

/** Lies beside `entries` only while that is written anew. */
export const FRESH = "entries.new";

/** A file open in a worker, as browsers give it. */
export interface Handle {
  getSize(): number;
  read(into: Uint8Array, options: { at: number }): number;
  write(bytes: Uint8Array, options: { at: number }): number;
  truncate(size: number): void;
  flush(): void;
}

const HEAD_BYTES = 64 + 1 + 12 + 1;

/** What lies beside while a text is put in place: its hash, its length in twelve digits, the text. */
async function beside(bytes: Bytes): Promise<Bytes> {
  const head = utf8(`${hex(await sha256(bytes))} ${String(bytes.length).padStart(12, "0")}\n`);
  const all = new Uint8Array(head.length + bytes.length);
  all.set(head);
  all.set(bytes, head.length);
  return all;
}

/** The text that lies beside, where it is whole; null where it was torn, or there is none. */
export async function wholeBeside(content: Bytes): Promise<Bytes | null> {
  if (content.length < HEAD_BYTES) return null;
  const [hash, length] = textOf(content.slice(0, HEAD_BYTES)).trim().split(" ");
  const bytes = content.slice(HEAD_BYTES);
  if (Number(length) !== bytes.length) return null;
  return hex(await sha256(bytes)) === hash ? bytes : null;
}

/** Put `text` in the place of what `file` holds. Throws, with the old text whole, where it cannot. */
export async function swap(file: Handle, fresh: Handle, text: string): Promise<void> {
  // What lies beside may be the only whole text there is.
  await settle(file, fresh);
  const bytes = utf8(text);
  const all = await beside(bytes);
  try {
    fresh.truncate(0);
    put(fresh, all);
    fresh.flush();
    if ((await wholeBeside(content(fresh))) === null) throw new DOMException("not as written", "DataError");
  } catch (problem) {
    // Torn, it would be passed over anyway; what was erased shall not lie there either.
    fresh.truncate(0);
    throw problem;
  }
  finish(file, fresh, bytes);
}

/**
 * Go on with what was cut off, by a kill or because the file could not be written; at every start,
 * and before anything is added: it would be lost with the file that is still to be replaced.
 */
export async function settle(file: Handle, fresh: Handle): Promise<void> {
  const bytes = await wholeBeside(content(fresh));
  if (bytes !== null) finish(file, fresh, bytes);
  else if (fresh.getSize() > 0) fresh.truncate(0);
}

function finish(file: Handle, fresh: Handle, bytes: Bytes): void {
  file.truncate(0);
  put(file, bytes);
  file.flush();
  fresh.truncate(0);
  fresh.flush();
}

function content(handle: Handle): Bytes {
  const bytes = new Uint8Array(handle.getSize());
  handle.read(bytes, { at: 0 });
  return bytes;
}

function put(handle: Handle, bytes: Bytes): void {
  if (handle.write(bytes, { at: 0 }) !== bytes.length) throw new DOMException("written in part", "QuotaExceededError");
}

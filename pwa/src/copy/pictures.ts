/**
 * A second copy of pictures that the server does not have yet: a file for each in the origin's
 * private file system, sealed as in IndexedDB, apart from it for the same reason as the entries'.
 */

import type { Bytes } from "../events/surroundings";

export interface PictureCopy { sha256: string; record_id: string; saved_ms: number; iv: Bytes; sealed: ArrayBuffer }

export interface PicturePlace {
  put(tablet_id: string, name: string, content: Bytes): Promise<void>;
  list(tablet_id: string): Promise<string[]>;
  /** The content and when it was written, or null where there is no such file. */
  read(tablet_id: string, name: string): Promise<{ content: Bytes; written_ms: number } | null>;
  remove(tablet_id: string, name: string): Promise<void>;
}

const FOLDER = "second-pictures";
const IV_BYTES = 12;

const browser: PicturePlace = {
  async put(tablet_id, name, content) {
    const file = await (await folder(tablet_id)).getFileHandle(name, { create: true });
    // Takes the file's place only when it is closed: a picture is there whole or not at all.
    const into = await file.createWritable();
    await into.write(content);
    await into.close();
  },
  async list(tablet_id) {
    const names: string[] = [];
    for await (const name of ((await folder(tablet_id)) as unknown as { keys(): AsyncIterable<string> }).keys()) names.push(name);
    return names;
  },
  async read(tablet_id, name) {
    const handle = await (await folder(tablet_id)).getFileHandle(name).catch(() => null);
    const file = await handle?.getFile();
    return file === undefined ? null : { content: new Uint8Array(await file.arrayBuffer()), written_ms: file.lastModified };
  },
  async remove(tablet_id, name) {
    await (await folder(tablet_id)).removeEntry(name).catch(() => undefined);
  },
};

async function folder(tablet_id: string): Promise<FileSystemDirectoryHandle> {
  const all = await (await navigator.storage.getDirectory()).getDirectoryHandle(FOLDER, { create: true });
  return all.getDirectoryHandle(tablet_id, { create: true });
}

let place: PicturePlace = browser;

/** Put another place in its stead (tests). */
export function setPicturePlace(other: PicturePlace): void {
  place = other;
}

// Both parts are made by this program: hex digits, and a UUID.
const nameOf = (sha256: string, record_id: string): string => `${sha256}.${record_id}`;

/** Write a picture's second copy; answers whether there is one now. */
export async function copyPicture(tablet_id: string, one: Omit<PictureCopy, "saved_ms">): Promise<boolean> {
  const content = new Uint8Array(IV_BYTES + one.sealed.byteLength);
  content.set(one.iv);
  content.set(new Uint8Array(one.sealed), IV_BYTES);
  return place.put(tablet_id, nameOf(one.sha256, one.record_id), content).then(() => true, () => false);
}

/** The pictures that have a second copy and are not among `known`. */
export async function copiedPictures(tablet_id: string, known: ReadonlySet<string>): Promise<PictureCopy[]> {
  const found: PictureCopy[] = [];
  for (const name of await place.list(tablet_id).catch(() => [])) {
    const [sha256, record_id] = name.split(".");
    if (!sha256 || !record_id || known.has(sha256)) continue;
    const file = await place.read(tablet_id, name).catch(() => null);
    if (file === null || file.content.length <= IV_BYTES) continue;
    const { content, written_ms } = file;
    found.push({
      sha256, record_id, saved_ms: written_ms, iv: content.slice(0, IV_BYTES), sealed: content.slice(IV_BYTES).buffer,
    });
  }
  return found;
}

/** Drop the second copy of a picture. */
export async function dropPictureCopy(tablet_id: string, sha256: string, record_id: string): Promise<void> {
  await place.remove(tablet_id, nameOf(sha256, record_id)).catch(() => undefined);
}

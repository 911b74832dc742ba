/**
 * Where the second copy lies: files in the origin's private file system, a folder for each tablet
 * that this browser has been. Apart from IndexedDB, so that what ruins that leaves this alone.
 */

import { trustedWorker } from "../events/trusted";
import { FRESH, wholeBeside } from "./swap";
import workerAddress from "./worker?worker&url";

/** `entries` grows line by line; the other two are written anew each time. */
export const NAMES = ["entries", "house", "live"] as const;
export type Name = (typeof NAMES)[number];

export type Asked =
  | { id: number; op: "open"; folder: string[]; names: string[] }
  | { id: number; op: "append" | "replace" | "rewrite"; name: string; text: string; flush: boolean };
export interface Answer { id: number; problem: string | null }

/** The files of one tablet, open for writing; only one page can hold them. */
export interface CopyFiles {
  append(name: Name, text: string): Promise<void>;
  replace(name: Name, text: string): Promise<void>;
  /** Write `entries` anew, so that a kill at any moment leaves the old text or the new one whole. */
  rewrite(text: string): Promise<void>;
}

export interface CopyPlace {
  /** The tablets that have a copy here. */
  list(): Promise<string[]>;
  /** The text of a file, or of its last `bytes`; empty where there is none. */
  read(tablet_id: string, name: Name, bytes?: number): Promise<string>;
  open(tablet_id: string): Promise<CopyFiles>;
}

const FOLDER = "second-copy";

const browser: CopyPlace = {
  async list() {
    const inside = await folder(FOLDER);
    if (inside === null) return [];
    const found: string[] = [];
    for await (const name of (inside as unknown as { keys(): AsyncIterable<string> }).keys()) found.push(name);
    return found;
  },
  async read(tablet_id, name, bytes) {
    const inside = await folder(FOLDER, tablet_id);
    // Where a kill came while the file was written anew, the new text may be the only whole one.
    const file = (name === "entries" ? await beside(inside) : null)
      ?? await (await inside?.getFileHandle(name).catch(() => null))?.getFile();
    if (file === undefined) return "";
    return (bytes === undefined ? file : file.slice(Math.max(0, file.size - bytes))).text();
  },
  async open(tablet_id) {
    const worker = new Worker(trustedWorker(workerAddress), { type: "module" });
    const ask = asker(worker);
    await ask({ op: "open", folder: [FOLDER, tablet_id], names: [...NAMES, FRESH] });
    return {
      append: (name, text) => ask({ op: "append", name, text, flush: true }),
      replace: (name, text) => ask({ op: "replace", name, text, flush: false }),
      rewrite: (text) => ask({ op: "rewrite", name: "entries", text, flush: true }),
    };
  },
};

async function beside(inside: FileSystemDirectoryHandle | null): Promise<Blob | null> {
  const file = await (await inside?.getFileHandle(FRESH).catch(() => null))?.getFile();
  if (file === undefined || file.size === 0) return null;
  const bytes = await wholeBeside(new Uint8Array(await file.arrayBuffer()));
  return bytes === null ? null : new Blob([bytes]);
}

type Bare<T> = T extends unknown ? Omit<T, "id"> : never;

function asker(worker: Worker): (asked: Bare<Asked>) => Promise<void> {
  const open = new Map<number, { resolve: () => void; reject: (problem: Error) => void }>();
  let last = 0;
  worker.onmessage = ({ data }: MessageEvent<Answer>) => {
    const waiting = open.get(data.id);
    open.delete(data.id);
    if (data.problem === null) waiting?.resolve();
    else waiting?.reject(new DOMException("The second copy was not written.", data.problem));
  };
  worker.onerror = () => {
    for (const waiting of open.values()) waiting.reject(new DOMException("The worker failed.", "InvalidStateError"));
    open.clear();
  };
  return (asked) => new Promise((resolve, reject) => {
    last += 1;
    open.set(last, { resolve, reject });
    worker.postMessage({ ...asked, id: last });
  });
}

async function folder(...path: string[]): Promise<FileSystemDirectoryHandle | null> {
  try {
    let inside = await navigator.storage.getDirectory();
    for (const name of path) inside = await inside.getDirectoryHandle(name);
    return inside;
  } catch {
    // No such folder, or a browser without such files.
    return null;
  }
}

let current: CopyPlace = browser;

export function copyPlace(): CopyPlace {
  return current;
}

/** Put another place in its stead (tests). */
export function setCopyPlace(place: CopyPlace): void {
  current = place;
}

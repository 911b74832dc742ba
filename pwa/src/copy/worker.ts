/** Writes the second copy: only in a worker does a browser offer writing in place, with a flush. */

import type { Answer, Asked } from "./files";
import { FRESH, settle, swap, type Handle } from "./swap";

type HandleFile = FileSystemFileHandle & { createSyncAccessHandle(): Promise<Handle> };

const scope = globalThis as unknown as {
  onmessage: (message: MessageEvent<Asked>) => void;
  postMessage(answer: Answer): void;
};

const NEWLINE = 10;
const TRIES = 30;
const PAUSE_MS = 100;

const handles = new Map<string, Handle>();
let turn: Promise<unknown> = Promise.resolve();

scope.onmessage = ({ data }) => {
  // One after the other, so that lines stand in the order in which they were asked for.
  turn = turn.then(() => serve(data)).then(
    () => scope.postMessage({ id: data.id, problem: null }),
    (problem: unknown) => scope.postMessage({ id: data.id, problem: nameOf(problem) }));
};

async function serve(asked: Asked): Promise<void> {
  if (asked.op === "open") return open(asked.folder, asked.names);
  const handle = handles.get(asked.name);
  if (handle === undefined) throw new DOMException("not open", "InvalidStateError");
  if (asked.op === "rewrite") return swap(handle, handles.get(FRESH)!, asked.text);
  if (asked.name === "entries") await settle(handle, handles.get(FRESH)!);
  if (asked.op === "append") put(handle, asked.text, handle.getSize());
  else {
    handle.truncate(0);
    put(handle, asked.text, 0);
  }
  if (asked.flush) handle.flush();
}

function put(handle: Handle, text: string, at: number): void {
  const bytes = new TextEncoder().encode(text);
  if (handle.write(bytes, { at }) !== bytes.length) {
    throw new DOMException("written in part", "QuotaExceededError");
  }
}

async function open(folder: string[], names: string[]): Promise<void> {
  let inside = await navigator.storage.getDirectory();
  for (const name of folder) inside = await inside.getDirectoryHandle(name, { create: true });
  for (const name of names) {
    const file = (await inside.getFileHandle(name, { create: true })) as HandleFile;
    const handle = await held(file);
    handles.set(name, handle);
  }
  // What a kill has cut off in the middle of a rewriting is gone on with before anything is added.
  await settle(handles.get("entries")!, handles.get(FRESH)!);
  for (const name of names) endLine(handles.get(name)!);
}

/** A page that was just left may hold the file for a moment. */
async function held(file: HandleFile): Promise<Handle> {
  for (let tried = 1; ; tried += 1) {
    try {
      return await file.createSyncAccessHandle();
    } catch (problem) {
      if (nameOf(problem) !== "NoModificationAllowedError" || tried === TRIES) throw problem;
      await new Promise((resolve) => setTimeout(resolve, PAUSE_MS));
    }
  }
}

/** A line torn by a kill must not run into the next one. */
function endLine(handle: Handle): void {
  const size = handle.getSize();
  if (size === 0) return;
  const last = new Uint8Array(1);
  handle.read(last, { at: size - 1 });
  if (last[0] !== NEWLINE) put(handle, "\n", size);
}

function nameOf(problem: unknown): string {
  return problem instanceof Error ? problem.name : "Error";
}

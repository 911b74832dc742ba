/** Unsent forms: kept sealed in the tablet's live store at every change, so that nothing typed is lost. */
import { signal, type Signal } from "@preact/signals";
import { getLive, putLive } from "../outbox/live";
import { isWriter } from "../outbox/writer";

export interface Draft<T> {
  value: Signal<T>;
  initial: T;
  ready: Signal<boolean>;
  set: (value: T) => void;
  clear: () => void;
  /** Take up what the tab that wrote before this one has kept. */
  takeUp: () => Promise<void>;
}

const open = new Map<string, Draft<unknown>>();
const writes = new Map<string, Promise<unknown>>();

/** The draft under `key`; the key carries the person and the record, so no form crosses to another. */
export function draft<T>(key: string, initial: T): Draft<T> {
  const known = open.get(key);
  if (known) return known as Draft<T>;
  const value = signal<T>(initial);
  const ready = signal(false);
  let touched = false;
  const set = (next: T) => {
    touched = true;
    value.value = next;
    save(key, next);
  };
  const takeUp = async () => {
    const kept = await getLive(key);
    // What the writing tab kept comes first: only there was it promised to be kept.
    if (kept != null) value.value = kept as T;
    else if (touched && value.value !== initial) save(key, value.value);
    else value.value = initial;
  };
  const made: Draft<T> = { value, initial, ready, set, clear: () => { value.value = initial; touched = true; save(key, null); }, takeUp };
  open.set(key, made as Draft<unknown>);
  getLive(key)
    .then((kept) => { if (!touched && kept != null) value.value = kept as T; })
    .catch(() => undefined)
    .finally(() => { ready.value = true; });
  return made;
}

/** Writes of one key follow each other, so that the last one typed is the last one kept. */
function save(key: string, value: unknown): void {
  // A read-only tab must not overwrite what the writing one keeps.
  if (!isWriter()) return;
  const before = writes.get(key) ?? Promise.resolve();
  writes.set(key, before.then(() => putLive(key, value)).catch(() => undefined));
}

/** Whether some form holds what was typed into it and not saved. */
export const unfinished = (): boolean => [...open.values()].some(({ value, initial }) => value.value !== initial);

/** In a tab that has just become the writing one: no form shows less than the other has kept. */
export async function takeUpDrafts(): Promise<void> {
  await Promise.all([...open.values()].map((one) => one.takeUp()));
}

/** Forget what is in memory; what is kept sealed stays. */
export function forgetDrafts(): void {
  open.clear();
}

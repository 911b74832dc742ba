/**
 * The second copy of what this tablet has saved, beside IndexedDB.
 *
 * A browser can lose its whole IndexedDB when it is killed in the middle of a write. What was
 * shown as saved must outlive that: entries are written here first, as sealed as they are there,
 * and beside them what it takes to open them again with a PIN.
 */

import { base64url, fromBase64url } from "../events/bytes";
import type { Bytes } from "../events/surroundings";
import { copyPlace, type CopyFiles } from "./files";
import { fromLines, toLine } from "./lines";

export interface CopiedRow {
  tablet_seq: number;
  event_id: string;
  saved_at: string;
  iv: Bytes;
  sealed: ArrayBuffer;
}

/** A value that IndexedDB keeps as it is, and a line of text with its bytes spelled out. */
type Plain = string | number | boolean | null | Plain[] | { [name: string]: Plain };

export interface Copy {
  /** Who the tablet was, with its signing key under the keep key. */
  tablet: { identity: object; sign: object };
  /** By person: what recognises their PIN, and the keep key under it. */
  people: Map<string, object>;
  rows: CopiedRow[];
}

type Line =
  | { kind: "tablet"; identity: object; sign: object }
  | { kind: "person"; person_id: string; row: object }
  | { kind: "person_gone"; person_id: string }
  | { kind: "rows"; rows: CopiedRow[] }
  | { kind: "taken_back"; from_seq: number };

/** More than the longest entry takes, so that the last line is usually within it. */
const TAIL_BYTES = 300_000;

let files: CopyFiles | null = null;

/** Begin the copy of a tablet that has just been enrolled. Rejects where there can be none. */
export async function beginCopy(tablet_id: string, identity: object, sign: object): Promise<void> {
  files = await copyPlace().open(tablet_id);
  await append({ kind: "tablet", identity, sign });
}

/** Open the copy of this tablet for writing; false where it never had one, or cannot now. */
export async function openCopy(tablet_id: string): Promise<boolean> {
  if (files !== null) return true;
  // A folder made now would hold no key: it could never be opened again.
  if (!(await copyPlace().list()).includes(tablet_id)) return false;
  files = await copyPlace().open(tablet_id).catch(() => null);
  return files !== null;
}

export function copyIsOpen(): boolean {
  return files !== null;
}

/** Let go of the copy (tests, where a page is only pretended to end). */
export function closeCopy(): void {
  files = null;
}

export const copyRows = (rows: readonly CopiedRow[]): Promise<void> => append({ kind: "rows", rows: [...rows] });
/** Say that entries from this sequence on were not saved after all. */
export const copyTakenBack = (from_seq: number): Promise<void> => append({ kind: "taken_back", from_seq });
export const copyPerson = (person_id: string, row: object): Promise<void> => append({ kind: "person", person_id, row });
export const copyPersonGone = (person_id: string): Promise<void> => append({ kind: "person_gone", person_id });

/** Keep a whole list beside the entries, in the place of the one before. */
export async function copyWhole(name: "house" | "live", values: readonly object[]): Promise<void> {
  await files?.replace(name, await toLine(spell(values) as object));
}

/** A list kept with `copyWhole`; empty where the last writing was cut off. */
export async function readWhole(tablet_id: string, name: "house" | "live"): Promise<object[]> {
  const [list] = await fromLines(await copyPlace().read(tablet_id, name));
  return list === undefined ? [] : (unspell(list as Plain) as object[]);
}

/** Everything in a tablet's copy, or null where it does not say whose it is. */
export async function readCopy(tablet_id: string): Promise<Copy | null> {
  let tablet: Copy["tablet"] | null = null;
  const people = new Map<string, object>();
  const rows = new Map<number, CopiedRow>();
  const dropFrom = (seq: number): void => {
    for (const known of [...rows.keys()]) if (known >= seq) rows.delete(known);
  };
  for (const line of await lines(tablet_id)) {
    if (line.kind === "tablet") tablet = { identity: line.identity, sign: line.sign };
    else if (line.kind === "person") people.set(line.person_id, line.row);
    else if (line.kind === "person_gone") people.delete(line.person_id);
    else if (line.kind === "taken_back") dropFrom(line.from_seq);
    else {
      // Written again from here on: what stood at these places was never called saved.
      dropFrom(line.rows[0]?.tablet_seq ?? Infinity);
      for (const row of line.rows) rows.set(row.tablet_seq, row);
    }
  }
  // What was erased holds its place only, so that no number is given twice.
  const kept = [...rows.values()].filter((row) => row.sealed.byteLength > 0);
  return tablet === null ? null : { tablet, people, rows: kept };
}

/** The last sequence that the copy holds; 0 where it holds none. */
export async function lastCopied(tablet_id: string): Promise<number> {
  for (const bytes of [TAIL_BYTES, undefined]) {
    for (const line of (await lines(tablet_id, bytes)).reverse()) {
      if (line.kind === "rows") return line.rows.at(-1)?.tablet_seq ?? 0;
      if (line.kind === "taken_back") return line.from_seq - 1;
    }
  }
  return 0;
}

async function lines(tablet_id: string, bytes?: number): Promise<Line[]> {
  const found = await fromLines(await copyPlace().read(tablet_id, "entries", bytes));
  return found.map((line) => unspell(line as Plain) as Line);
}

/**
 * Take the content of entries out of the copy, and put `instead` in the place of those that must
 * still be sent; returns how many there were. A kill at any moment loses none of the others.
 */
export function eraseCopied(
  tablet_id: string, event_ids: ReadonlySet<string>, instead: ReadonlyMap<string, CopiedRow> = new Map(),
): Promise<number> {
  return inTurn(async () => {
    let found = 0;
    const kept: string[] = [];
    for (const line of await lines(tablet_id)) {
      if (line.kind === "rows") {
        line.rows = line.rows.map((row) => {
          if (!event_ids.has(row.event_id) || row.sealed.byteLength === 0) return row;
          const other = instead.get(row.event_id);
          found += other !== undefined && same(other, row) ? 0 : 1;
          return other ?? { ...row, iv: new Uint8Array(0), sealed: new ArrayBuffer(0) };
        });
      }
      kept.push(await toLine(spell(line) as object));
    }
    if (found > 0) await open().rewrite(kept.join(""));
    return found;
  });
}

const same = (one: CopiedRow, other: CopiedRow): boolean =>
  base64url(new Uint8Array(one.sealed)) === base64url(new Uint8Array(other.sealed));

function open(): CopyFiles {
  if (files === null) throw new DOMException("There is no second copy.", "InvalidStateError");
  return files;
}

let turn: Promise<unknown> = Promise.resolve();

/** One after the other: what is added while the file is written anew would be lost with the old one. */
function inTurn<T>(work: () => Promise<T>): Promise<T> {
  const mine = turn.then(work);
  turn = mine.catch(() => undefined);
  return mine;
}

function append(line: Line): Promise<void> {
  return inTurn(async () => open().append("entries", await toLine(spell(line) as object)));
}

function spell(value: unknown): Plain {
  if (value instanceof ArrayBuffer) return { $buffer: base64url(new Uint8Array(value)) };
  if (value instanceof Uint8Array) return { $bytes: base64url(value) };
  if (Array.isArray(value)) return value.map(spell);
  if (value === null || typeof value !== "object") return (value ?? null) as Plain;
  return Object.fromEntries(Object.entries(value).map(([name, inner]) => [name, spell(inner)]));
}

function unspell(value: Plain): unknown {
  if (Array.isArray(value)) return value.map(unspell);
  if (value === null || typeof value !== "object") return value;
  if (typeof value["$buffer"] === "string") return fromBase64url(value["$buffer"]).buffer;
  if (typeof value["$bytes"] === "string") return fromBase64url(value["$bytes"]);
  return Object.fromEntries(Object.entries(value).map(([name, inner]) => [name, unspell(inner)]));
}

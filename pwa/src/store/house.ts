/** Database `house`: what the tablet knows besides its own unsent events. */

import { openDB, type DBSchema, type IDBPDatabase } from "idb";
import type { Bytes } from "../events/surroundings";
import type { Sealed } from "./seal";

/** Who this tablet is, as the server enrolled it. */
export interface Identity {
  tablet_id: string;
  location_id: string;
  location_name: string;
  practice_name: string;
  zone: string;
  epoch: string;
  label: string;
  public_key: string;
  server_public_key: string;
  certificate: { text: string; signature: string };
  enrolled_at: string;
}

/** When the server was last heard, and how long ago that is. */
export interface Contact {
  last_contact: string | null;
  clock_offset_ms: number | null;
  /** What the clock said when it was last looked at, and how far it went forward since the contact, all steps added up. */
  seen_ms?: number;
  away_ms?: number;
  /** Of older versions, in place of these two: the highest time ever seen. */
  highest_seen_ms?: number;
}

/** Something a person has to look at; a blocking one stops sending until it is dealt with. */
export interface Attention {
  code: string;
  text: string;
  blocking: boolean;
  at: string;
}

export interface KeyRing {
  sign: CryptoKeyPair;
  /** The keep key: seals the outbox, the live case and the second copy. */
  seal: CryptoKey;
  /** What sealed the records of an older version, until they are all under the view key. */
  records?: CryptoKey;
}

export interface DocumentRow { feed: string; kind: string; doc_id: string; position: number; body: object; epoch?: string }
export interface RecordRow { doc_id: string; kind: string; position: number; epoch?: string; iv: Bytes; sealed: ArrayBuffer; under?: "view" }

export interface Head { epoch: string; location_id: string; position: number; link: string; at: string }
/** A link that this tablet has computed. */
export interface Point { position: number; link: string }
/**
 * How far this tablet has itself recomputed the log, signed heads still ahead of that, and some of
 * the links behind it. `stale`: feeds of which it still holds documents of before a restore.
 */
export interface ChainRow {
  epoch: string; position: number; link: string; heads: Head[]; durable_position: number | null;
  trail?: Point[]; stale?: ("house" | "records")[];
}

/** The last restore of the server's log: from which backup, and how many entries were sent again. */
export interface Restored { backup_made_at: string; again: number }

export interface PersonRow {
  person_id: string;
  person: object;
  salt: Bytes;
  rounds: number;
  verifier: Bytes;
  wrong: number;
  locked_until_ms: number;
  /** The keep key under this person's PIN, to open the second copy with. */
  keep: Sealed | null;
  /** The view key under it; null for whoever may read no records, absent in rows of an older version. */
  view?: Sealed | null;
  /** Digest of what the server gave with the PIN: while it gives the same, this row stands. */
  given?: string | null;
}

/** How many rounds a PIN is stretched with on this tablet, and what that took [ms]. */
export interface Stretching { rounds: number; took_ms: number; at: string }

/** Which erasures are carried out on this tablet: by record, how many entries that were. */
export interface Erased { done: Record<string, number> }

export interface HouseSchema extends DBSchema {
  keys: { key: string; value: KeyRing };
  identity: { key: string; value: Identity | Contact | Attention | Stretching | Restored | Erased };
  documents: { key: [string, string, string]; value: DocumentRow };
  cursor: { key: string; value: { cursor: string } };
  chain: { key: string; value: ChainRow };
  people: { key: string; value: PersonRow };
  records: { key: string; value: RecordRow };
}

let opened: Promise<IDBPDatabase<HouseSchema>> | null = null;

/** The open database; opened again after the browser closed it. */
export function house(): Promise<IDBPDatabase<HouseSchema>> {
  opened ??= openDB<HouseSchema>("house", 1, {
    upgrade(database) {
      database.createObjectStore("keys");
      database.createObjectStore("identity");
      database.createObjectStore("documents", { keyPath: ["feed", "kind", "doc_id"] });
      database.createObjectStore("cursor");
      database.createObjectStore("chain");
      database.createObjectStore("people", { keyPath: "person_id" });
      database.createObjectStore("records", { keyPath: "doc_id" });
    },
    // Another tab wants a newer schema: stand aside rather than block it.
    blocking: () => void closeHouse(),
    terminated: () => { opened = null; },
  }).catch((problem: unknown) => {
    opened = null;
    throw problem;
  });
  return opened;
}

/** Close the database; the next use opens it again. */
export async function closeHouse(): Promise<void> {
  const closing = opened;
  opened = null;
  (await closing?.catch(() => null))?.close();
}

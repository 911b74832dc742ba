/** What this tablet said about things of a register and the server has not sent back yet. */
import { computed } from "@preact/signals";
import type { StoredEvent } from "../outbox/read";
import { foldRegister } from "./register-fold";
import { eventsOf, writtenAbout } from "./written";

type Loose = Record<string, unknown>;
type Own = Pick<StoredEvent, "body" | "payload" | "result">;
/** What the server put aside or refused counts no more here than there. */
const COUNTS: ReadonlySet<string> = new Set(["applied", "duplicate"]);

/** One document with what this tablet said about it and the server has not sent back yet. Pure. */
export function withSaid(document: Loose | null, said: readonly Own[], types: readonly string[]): Loose | null {
  return said.reduce<Loose | null>((doc, { body, payload, result }) => {
    const outcome = (result as { outcome?: string } | null)?.outcome;
    if (!types.includes(body.type) || (outcome !== undefined && !COUNTS.has(outcome))) return doc;
    const history = Object.values(doc ?? {}).some((value) => Array.isArray(value) && value.some((one: { event_id?: string }) => one?.event_id === body.event_id));
    // What is registered anew has taken in what was said before it; ids follow each other in time.
    const taken = String(doc?.["event_id"] ?? "") >= body.event_id;
    const recurs = /\.(inspected|moved|calibrated)$/.test(body.type);
    return history || (taken && !recurs) ? doc : foldRegister(doc, body, payload);
  }, document);
}

/** Lasers and tips: what says that they came and went. */
const TYPES = {
  device: ["device.registered", "device.retired"], handpiece: ["handpiece.registered", "handpiece.retired"],
} as const;
export type Equipment = keyof typeof TYPES;

const last: Record<Equipment, readonly StoredEvent[]> = { device: [], handpiece: [] };

/** This tablet's words about them; the same array until one comes or is answered, so that nothing is worked out anew for others. */
const wordsAbout = (kind: Equipment, known: () => readonly Loose[]) => computed<readonly StoredEvent[]>(() => {
  const types: readonly string[] = TYPES[kind];
  const ids = new Set([...known().map((one) => String(one[`${kind}_id`])), ...writtenAbout(types)]);
  const found = [...ids].flatMap((id) => eventsOf(id).filter(({ body }) => types.includes(body.type)));
  if (found.length !== last[kind].length || found.some((one, n) => one !== last[kind][n])) last[kind] = found;
  return last[kind];
});

/**
 * Lasers or tips in use, with this tablet's own: `known` are the server's documents, retired ones too, and
 * `offered` those of them that are in use. The same array where this tablet has nothing to add.
 */
export function equipment(kind: Equipment, known: () => readonly Loose[], offered: () => readonly Loose[]): () => readonly Loose[] {
  const words = wordsAbout(kind, known);
  const id = `${kind}_id`;
  return () => {
    const own = words.value;
    if (own.length === 0) return offered();
    const documents = new Map([...offered(), ...known()].map((one) => [one[id], one]));
    const changed = new Map<unknown, Loose>();
    for (const about of new Set(own.map(({ body }) => body.entity_id))) {
      const before = documents.get(about) ?? null;
      const after = withSaid(before, own.filter(({ body }) => body.entity_id === about), TYPES[kind]);
      if (after !== null && after !== before) changed.set(about, after);
    }
    if (changed.size === 0) return offered();
    return [...offered().filter((one) => !changed.has(one[id])), ...[...changed.values()].filter(({ status }) => status === "current")];
  };
}

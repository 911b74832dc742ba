/**
 * Certificates: taken in where work or a calibration is noted, named by its entry, opened again. On
 * a tablet the bytes lie sealed beside the photographs from the moment they are chosen and follow
 * their entry; at a desk they stay in memory until the entry is saved, and go before it.
 */
import { effect, signal } from "@preact/signals";
import type { Certificate } from "../events/catalogue";
import { hex, sha256 } from "../events/bytes";
import type { Bytes } from "../events/surroundings";
import { dropPhotograph, keepPhotograph, nameUnnamed, photographBytes } from "../outbox/photographs";
import { fetchCertificate, heldCertificates, putCertificate, type Held } from "../sync/certificates";
import { syncNow } from "../sync/service";
import { cleanName, endsAs, LIMIT_BYTES, READ_AT_MOST_BYTES, typeOf, type PaperType } from "./paper";
import { kept, refreshPhotographs } from "./photographs";
import { drawAnew, PictureError } from "./picture";
import { person, seat } from "./state";

export type PaperCode = "certificate_empty" | "certificate_too_large" | "certificate_unknown_kind" | "certificate_damaged" | "certificate_gone";

/** Why a file is not taken, or not sent; which one it was. */
export class PaperError extends Error {
  constructor(readonly code: PaperCode, readonly file_name: string) { super(`${file_name}: ${code}`); }
}

/** A little longer than what a tablet keeps waits to be sent. */
const SEND_AFTER_MS = 16_000;

/** What the server has, by hash; null where it was not asked, or cannot be. */
export const there = signal<ReadonlyMap<string, Held> | null>(null);
/** At a desk: chosen, and not on the server yet. */
const chosen = new Map<string, Bytes>();

effect(() => {
  if (person.value !== null) return;
  chosen.clear();
  there.value = null;
});

/** Ask which are there; what cannot be asked now is left open. */
export async function refreshCertificates(): Promise<void> {
  const who = person.value?.person_id;
  await refreshPhotographs().catch(() => undefined);
  const found = await heldCertificates(seat.value === "desk").catch(() => null);
  if (found !== null && person.value?.person_id === who) there.value = new Map(found.map((one) => [one.sha256, one]));
}

/** Take a chosen file in for what `owner` will say; throws PaperError where it cannot be kept. */
export async function takeIn(owner: string, file: File): Promise<Certificate> {
  const refuse = (code: PaperCode): never => { throw new PaperError(code, file.name); };
  if (file.size === 0) refuse("certificate_empty");
  if (file.size > READ_AT_MOST_BYTES) refuse("certificate_too_large");
  const raw: Bytes = new Uint8Array(await file.arrayBuffer());
  const type = typeOf(raw) ?? refuse("certificate_unknown_kind");
  if (type !== "image/jpeg" && raw.length > LIMIT_BYTES) refuse("certificate_too_large");
  if (type !== "image/jpeg" && !endsAs(type, raw)) refuse("certificate_damaged");
  const bytes = type === "image/jpeg" ? await withoutTraces(file, raw, refuse) : raw;
  const hash = hex(await sha256(bytes));
  if (seat.value === "desk") chosen.set(hash, bytes);
  else {
    await keepPhotograph(owner, hash, bytes, true);
    await refreshPhotographs();
  }
  return { sha256: hash, file_name: cleanName(file.name, type), media_type: type, size_bytes: bytes.length };
}

/** A camera writes into its pictures where and with what they were taken: a photographed paper is drawn anew. */
async function withoutTraces(file: File, raw: Bytes, refuse: (code: PaperCode) => never): Promise<Bytes> {
  if (!endsAs("image/jpeg", raw)) refuse("certificate_damaged");
  try {
    return (await drawAnew(file)).bytes;
  } catch (problem) {
    if (!(problem instanceof PictureError)) throw problem;
    return refuse(problem.code === "picture_too_large" ? "certificate_too_large" : "certificate_damaged");
  }
}

/** Drop one that was chosen and is not named by any entry. */
export async function letGo(sha256: string): Promise<void> {
  if (chosen.delete(sha256) || seat.value === "desk") return;
  await dropPhotograph(sha256);
  await refreshPhotographs();
}

/** What this tablet keeps of it; a desk keeps none. */
const keptHere = (hash: string) => (seat.value === "desk" ? undefined : kept.value.get(hash));

/** Whether the bytes of one are at hand or on the server, so that an entry may name it. */
export function atHand(one: Certificate, named_before: readonly Certificate[]): boolean {
  return chosen.has(one.sha256) || keptHere(one.sha256) !== undefined || (there.value?.has(one.sha256) ?? false)
    || named_before.some(({ sha256 }) => sha256 === one.sha256);
}

/** At a desk: bring to the server what an entry is about to name, one after another. `began` is told which one is on its way. */
export async function sendBefore(papers: readonly Certificate[], began: (number: number) => void): Promise<void> {
  if (seat.value !== "desk") return;
  for (const [at, one] of papers.entries()) {
    const bytes = chosen.get(one.sha256);
    if (bytes === undefined) continue;
    began(at + 1);
    await putCertificate(one.sha256, bytes);
    chosen.delete(one.sha256);
    there.value = new Map(there.value ?? []).set(one.sha256, {
      sha256: one.sha256, media_type: one.media_type, size_bytes: one.size_bytes, received_at: "", actor_id: null, tablet_id: null, named: false,
    });
  }
}

/** On a tablet: the entry is saved; its files know now which one it is, and follow it. */
export async function sendAfter(): Promise<void> {
  if (seat.value === "desk") return;
  await nameUnnamed();
  await refreshPhotographs();
  setTimeout(() => void syncNow(), SEND_AFTER_MS);
}

/** Where one is: on this tablet only, on the server, still to come from elsewhere; null where it cannot be told now. */
export type Whereabouts = "tablet" | "server" | "to_come" | "refused";
export function whereIs(hash: string): Whereabouts | null {
  const mine = keptHere(hash)?.state;
  if (mine === "waiting") return "tablet";
  if (mine === "refused") return "refused";
  if (mine === "sent" || there.value?.has(hash)) return "server";
  return there.value === null ? null : "to_come";
}

/** The file itself; null where its bytes are not there yet. Throws NoAnswer, Refused, or TypeError for other bytes than those named. */
export async function openPaper(one: Certificate): Promise<{ blob: Blob; type: PaperType; file_name: string } | null> {
  const at_desk = seat.value === "desk";
  const bytes = chosen.get(one.sha256) ?? (at_desk ? null : await photographBytes(one.sha256).catch(() => null)) ?? (await fetchCertificate(one.sha256, at_desk));
  if (bytes === null) return null;
  const type = typeOf(bytes);
  if (type === null || hex(await sha256(bytes)) !== one.sha256) throw new TypeError("not the file that is named");
  // What it is, its bytes say; an entry that calls it otherwise does not decide how it is opened.
  return { blob: new Blob([bytes], { type }), type, file_name: cleanName(one.file_name, type) };
}

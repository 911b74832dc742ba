/** Enrolling: a one-time code for an identity, with a key pair that never leaves this tablet. */

import { beginCopy } from "../copy/copy";
import { base64url, fromBase64url, utf8 } from "../events/bytes";
import { surroundings } from "../events/surroundings";
import { nowText } from "../events/times";
import { copyPeople } from "../store/people";
import { betweenSaves } from "../outbox/append";
import { countWaiting, firstUnsent } from "../outbox/read";
import { outbox } from "../outbox/database";
import { openSecond } from "../outbox/second";
import { isWriter } from "../outbox/writer";
import { clearAttention, identity, putIdentity, type Identity } from "../store/identity";
import type { KeyRing } from "../store/house";
import { makePair, makeRing, readKeys } from "../store/keys";
import { roundsHere } from "../store/stretch";
import { askJson } from "./client";
import { forgetToken } from "./token";

/** What stood in the way of the enrolment before. */
const ENDED_BY_ENROLLING = [
  "fork", "id_reuse", "gap", "tablet_signed_out", "tablet_not_allowed", "tablet_revoked", "tablet_unconfirmed",
];

export class EnrolError extends Error {
  override readonly name = "EnrolError";
  readonly code: "already_enrolled" | "not_enrolled" | "outbox_not_empty" | "certificate_wrong" | "read_only_tab";

  constructor(code: EnrolError["code"], message: string) {
    super(message);
    this.code = code;
  }
}

type Enrolled = Pick<Identity,
  "tablet_id" | "location_id" | "location_name" | "practice_name" | "zone" | "epoch" | "server_public_key" | "certificate"> & { keep_key: string; label?: string };

/** Enrol this tablet; throws EnrolError, Refused (wrong or used code) or NoAnswer. */
export async function enrol(code: string, label: string): Promise<Identity> {
  if ((await identity()) !== null) throw new EnrolError("already_enrolled", "This tablet is already enrolled.");
  if ((await countWaiting()) > 0 || (await (await outbox()).count("events")) > 0) {
    throw new EnrolError("outbox_not_empty", "This tablet still holds entries of an earlier enrolment.");
  }
  return becomes(code, label, null);
}

/**
 * Enrol this tablet under another key, with all that it holds: what it had not sent comes along as
 * it was made, what it had sent stays as it is. Throws as `enrol` does.
 */
export async function enrolAgain(code: string, label: string): Promise<Identity> {
  if (!isWriter()) throw new EnrolError("read_only_tab", "Another tab is writing; this one only shows.");
  return betweenSaves(async () => {
    const [before, ring] = await Promise.all([identity(), readKeys()]);
    // Without its keys it could not read what it is to send: a PIN brings them back first.
    if (before === null || ring === null) throw new EnrolError("not_enrolled", "This tablet is not enrolled.");
    // While it is being sent, nobody knows yet what of it is on the server.
    return await surroundings().locks().request("drain", {}, () => becomes(code, label, { who: before, ring }));
  });
}

async function becomes(code: string, label: string, before: { who: Identity; ring: KeyRing } | null): Promise<Identity> {
  const pair = await makePair();
  const public_key = base64url(new Uint8Array(await crypto.subtle.exportKey("spki", pair.publicKey)));
  const going_on = before === null ? {} : { before: { certificate: before.who.certificate, next_seq: await firstUnsent() } };
  const given = await askJson<Enrolled>("tablet/enrol", { body: { code, public_key, label, ...going_on } });
  const { certificate, server_public_key } = given;
  const certified = JSON.parse(certificate.text) as { tablet_id?: unknown; public_key?: unknown };
  if (
    !(await verifySignature(server_public_key, certificate.text, certificate.signature)) ||
    certified.tablet_id !== given.tablet_id || certified.public_key !== public_key
  ) {
    throw new EnrolError("certificate_wrong", "The server's certificate does not fit this tablet.");
  }
  const who: Identity = {
    tablet_id: given.tablet_id,
    location_id: given.location_id,
    location_name: given.location_name,
    practice_name: given.practice_name,
    zone: given.zone,
    epoch: given.epoch,
    // With a number where another tablet has this name.
    label: given.label ?? label,
    public_key,
    server_public_key,
    certificate,
    enrolled_at: nowText(),
  };
  const { ring, sign } = await makeRing(pair, fromBase64url(given.keep_key), who.tablet_id);
  // The server gives the same keep key again, so that what was sealed stays readable as it is.
  await putIdentity(who, before === null ? ring : { ...before.ring, sign: ring.sign });
  // A browser without such files works as well; it has only the one copy.
  await beginCopy(who.tablet_id, who, sign).catch(() => undefined);
  if (before !== null) {
    await clearAttention(ENDED_BY_ENROLLING);
    await copyPeople();
    await openSecond();
  }
  forgetToken();
  // Measured now, so that the first PIN need not wait for it.
  await roundsHere();
  // Ask the browser not to clear this tablet's storage when space runs short.
  await globalThis.navigator?.storage?.persist?.().catch(() => false);
  return who;
}

/** Whether `signature` (raw r|s) over the text is the key's (SPKI), both base64url. */
export async function verifySignature(public_key: string, text: string, signature: string): Promise<boolean> {
  const key = await crypto.subtle.importKey(
    "spki", fromBase64url(public_key), { name: "ECDSA", namedCurve: "P-256" }, false, ["verify"]);
  return crypto.subtle.verify({ name: "ECDSA", hash: "SHA-256" }, key, fromBase64url(signature), utf8(text));
}

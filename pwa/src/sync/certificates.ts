/** Certificates between a desk, or a tablet's person, and the server. What a tablet took in goes with its photographs. */
import type { Bytes } from "../events/surroundings";
import { ask, readJson, type Asked } from "./client";
import { personToken } from "./people";
import { askAsTabletRenewing } from "./token";

/** What a slow line takes for 5 MiB. */
const TIMEOUT_MS = 120_000;

/** One whose bytes the server has; `named`: some entry names it. */
export interface Held { sha256: string; media_type: string; size_bytes: number; received_at: string; actor_id: string | null; tablet_id: string | null; named: boolean }

/** At a desk: put one before the entry that names it. Once is as good as twice. Throws Refused or NoAnswer. */
export async function putCertificate(sha256: string, content: Bytes): Promise<void> {
  await readJson(await ask(`certificates/${sha256}`, { method: "PUT", bytes: { content, type: "application/octet-stream" }, timeout_ms: TIMEOUT_MS }));
}

/** The bytes of one; null where they are not there yet. Throws Refused or NoAnswer. */
export async function fetchCertificate(sha256: string, at_desk: boolean): Promise<Bytes | null> {
  const answer = await asked(`certificates/${sha256}`, at_desk, TIMEOUT_MS);
  if (answer.status === 404) return null;
  if (!answer.ok) await readJson(answer);
  return new Uint8Array(await answer.arrayBuffer());
}

/** Those whose bytes are there. */
export async function heldCertificates(at_desk: boolean): Promise<Held[]> {
  return (await readJson<{ certificates: Held[] }>(await asked("certificates", at_desk))).certificates;
}

function asked(path: string, at_desk: boolean, timeout_ms?: number): Promise<Response> {
  const token = personToken();
  const more: Asked = {
    ...(timeout_ms === undefined ? {} : { timeout_ms }),
    headers: { ...(!at_desk && token !== null ? { "Dosebook-Person": token } : {}) },
  };
  return at_desk ? ask(path, more) : askAsTabletRenewing(path, more);
}

/** What an administrator's desk asks about tablets: online only, nothing kept. */
import { askJson } from "./client";

export interface ListedTablet {
  tablet_id: string;
  label: string;
  enrolled_at: string;
  enrolled_by: string | null;
  last_seen_at: string | null;
  /** What it said last that it still has to send; null where it never said. */
  waiting: number | null;
  quarantined: number;
  revoked_at: string | null;
  revoked_by: string | null;
  revoked_because: string | null;
  forked_at: string | null;
  unconfirmed: boolean;
  replaces: string | null;
}

/** A one-time code, made at `server_time`; `left_ms` is how long it is valid from the moment it came. */
export interface EnrolmentCode { code: string; address: string; qr: { modules: number; path: string }; server_time: string; left_ms: number }

export async function listTablets(): Promise<ListedTablet[]> {
  return (await askJson<{ tablets: ListedTablet[] }>("tablets")).tablets;
}

/** The tablet that came after a code was made, if one did: both times are the server's. */
export const enrolledSince = (code: EnrolmentCode, tablets: readonly ListedTablet[]): ListedTablet | undefined =>
  tablets.find((one) => Date.parse(one.enrolled_at) >= Date.parse(code.server_time));

export async function makeCode(): Promise<EnrolmentCode> {
  const made = await askJson<Omit<EnrolmentCode, "left_ms"> & { expires_at: string }>("tablets/codes", { method: "POST" });
  // By the server's clock: this desk's own may be wrong.
  return { ...made, left_ms: Date.parse(made.expires_at) - Date.parse(made.server_time) };
}

const about = (tablet_id: string, what: string): string => `tablets/${encodeURIComponent(tablet_id)}/${what}`;

export async function renameTablet(tablet_id: string, label: string): Promise<void> {
  await askJson(about(tablet_id, "rename"), { body: { label } });
}

export async function revokeTablet(tablet_id: string, reason: string): Promise<void> {
  await askJson(about(tablet_id, "revoke"), { body: { reason } });
}

export async function confirmTablet(tablet_id: string): Promise<void> {
  await askJson(about(tablet_id, "confirm"), { method: "POST" });
}

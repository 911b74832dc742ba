/** Getting in, and what lets one in: one-time links, second factors, one's own secrets, sessions. */

import { base64url, fromBase64url } from "../events/bytes";
import type { Bytes } from "../events/surroundings";
import { askJson, readJson, Refused } from "./client";
import { personToken } from "./people";
import { askAsTabletRenewing } from "./token";

export type Way = "totp" | "passkey" | "recovery";
/** The second step of a sign-in; its token is good for five minutes and opens nothing by itself. */
export interface Step { token: string; ways: Way[]; expires_at: string; passkeys_here: boolean }

export interface Visit {
  purpose: "first" | "invite" | "reset" | "reset_all";
  display_name: string; practice_name: string; location_name: string;
  sign_in: string | null; has_factor: boolean; passkeys_here: boolean; expires_at: string;
  password: "must" | "may" | "no"; pin: "must" | "may" | "no";
}
export interface BegunTotp { factor_id: string; secret: string; picture: string }
export interface BegunPasskey { token: string; options: object }
export interface ProvenTotp { factor_id: string; code: string; label: string }
export interface ProvenPasskey { token: string; credential: object; label: string }
export interface VisitUse { sign_in?: string; password?: string; pin?: string; totp?: ProvenTotp; passkey?: ProvenPasskey }

export interface Factor { factor_id: string; kind: "totp" | "passkey"; label: string; made_at: string; used_at: string | null }
export interface Me { sign_in: string | null; has_pin: boolean; may_have_pin: boolean; factors: Factor[]; recovery_codes_left: number; passkeys_here: boolean }

export interface OpenSession {
  session_id: string; person_id: string;
  /** Of others: what they are called, and of a guest in an emergency where they work. */
  person_name?: string | null; works_at?: string | null;
  kind: "desk" | "tablet"; tablet_label: string | null; agent: string | null;
  began_at: string; used_at: string; expires_at: string; here: boolean;
  /** Of one's own at another location: which one. */
  location_name?: string | null;
}

const post = <T>(path: string, body: object): Promise<T> => askJson<T>(path, { body });

/** Show the second factor; then this browser is signed in. */
export async function finishSignIn(shown: { token: string; way: Way; code?: string; credential?: object }): Promise<void> {
  await post<object>("session/factor", shown);
}
/** What a passkey is to sign, for `usePasskey`. */
export const passkeyAsked = (token: string): Promise<object> => post("session/factor/passkey", { token });

export const openLink = (token: string): Promise<Visit> => post("links/open", { token });
export const useLink = async (token: string, given: VisitUse): Promise<string[]> =>
  (await post<{ recovery_codes: string[] }>("links/use", { token, ...given })).recovery_codes;

/** Where a second factor is set up: in the visit of a link, or in one's own settings with the password again. */
export type Door = { link: string } | { password_now: string };
const begin = <T>(what: "totp" | "passkey", door: Door): Promise<T> =>
  "link" in door ? post(`links/${what}`, { token: door.link }) : post(`me/${what}`, door);
export const beginTotp = (door: Door): Promise<BegunTotp> => begin("totp", door);
export const beginPasskey = (door: Door): Promise<BegunPasskey> => begin("passkey", door);

export const me = (): Promise<Me> => askJson("me");
export const changePassword = async (password_now: string, password: string): Promise<void> => { await post<object>("me/password", { password_now, password }); };
export const changePin = async (password_now: string, pin: string): Promise<void> => { await post<null>("me/pin", { password_now, pin }); };
export const removeFactor = async (password_now: string, factor_id: string): Promise<void> => { await post<null>(`me/factors/${encodeURIComponent(factor_id)}/remove`, { password_now }); };
const codesOf = async (path: string, body: object): Promise<string[]> => (await post<{ recovery_codes: string[] }>(path, body)).recovery_codes;
export const confirmTotp = (proven: ProvenTotp): Promise<string[]> => codesOf("me/totp/confirm", proven);
export const confirmPasskey = (proven: ProvenPasskey): Promise<string[]> => codesOf("me/passkey/confirm", proven);
export const newRecoveryCodes = (password_now: string): Promise<string[]> => codesOf("me/recovery-codes", { password_now });

/** One's own sessions; on a tablet with the token that the PIN gave. */
export async function ownSessions(on_tablet: boolean): Promise<OpenSession[]> {
  return (await asMe<{ sessions: OpenSession[] }>("sessions", "GET", on_tablet)).sessions;
}
export async function endSession(session_id: string, on_tablet: boolean): Promise<void> {
  await asMe<null>(`sessions/${encodeURIComponent(session_id)}`, "DELETE", on_tablet);
}
export async function endOtherSessions(on_tablet: boolean): Promise<void> {
  await asMe<null>("sessions", "DELETE", on_tablet);
}
export async function locationSessions(): Promise<OpenSession[]> {
  return (await askJson<{ sessions: OpenSession[] }>("location/sessions")).sessions;
}
export async function endLocationSession(session_id: string): Promise<void> {
  await askJson<null>(`location/sessions/${encodeURIComponent(session_id)}`, { method: "DELETE" });
}

async function asMe<T>(path: string, method: "GET" | "DELETE", on_tablet: boolean): Promise<T> {
  if (!on_tablet) return askJson<T>(path, { method });
  const token = personToken();
  if (token === null) throw new Refused(401, { code: "person_needed", detail: "Signed in without the server." });
  return readJson<T>(await askAsTabletRenewing(path, { method, headers: { "Dosebook-Person": token } }));
}

// --- passkeys: what the server writes as JSON is bytes for the browser, and back ------------

interface Listed { id: string; type: "public-key" }
interface Creation { challenge: string; user: { id: string; name: string; displayName: string }; excludeCredentials?: Listed[] }
interface Request { challenge: string; allowCredentials?: Listed[] }

const listed = (keys: readonly Listed[] | undefined) => (keys ?? []).map((key) => ({ type: key.type, id: fromBase64url(key.id) }));
const letters = (content: ArrayBuffer) => base64url(new Uint8Array(content) as Bytes);

/** Have the browser make a passkey; throws DOMException where the person or the device declines. */
export async function makePasskey(options: object): Promise<object> {
  const asked = options as Creation;
  const publicKey = {
    ...asked, challenge: fromBase64url(asked.challenge), user: { ...asked.user, id: fromBase64url(asked.user.id) },
    excludeCredentials: listed(asked.excludeCredentials),
  } as unknown as PublicKeyCredentialCreationOptions;
  const made = (await navigator.credentials.create({ publicKey })) as PublicKeyCredential;
  const answer = made.response as AuthenticatorAttestationResponse;
  return shown(made, { clientDataJSON: letters(answer.clientDataJSON), attestationObject: letters(answer.attestationObject) });
}

/** Have a passkey sign what the server asked. */
export async function usePasskey(options: object): Promise<object> {
  const asked = options as Request;
  const publicKey = {
    ...asked, challenge: fromBase64url(asked.challenge), allowCredentials: listed(asked.allowCredentials),
  } as unknown as PublicKeyCredentialRequestOptions;
  const used = (await navigator.credentials.get({ publicKey })) as PublicKeyCredential;
  const answer = used.response as AuthenticatorAssertionResponse;
  return shown(used, {
    clientDataJSON: letters(answer.clientDataJSON), authenticatorData: letters(answer.authenticatorData),
    signature: letters(answer.signature),
  });
}

const shown = (key: PublicKeyCredential, response: Record<string, string>): object =>
  ({ id: key.id, rawId: letters(key.rawId), type: key.type, response, clientExtensionResults: {} });

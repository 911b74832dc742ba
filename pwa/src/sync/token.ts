/** The tablet's token: a nonce signed by its key; kept in memory only. */

import { base64url, utf8 } from "../events/bytes";
import { identity } from "../store/identity";
import { readKeys, sign } from "../store/keys";
import { ask, askJson, Refused, type Asked } from "./client";
import { heedRevocation } from "./revoked";

let token: string | null = null;

/** Forget the token; the next request gets a new one. */
export function forgetToken(): void {
  token = null;
}

/** Get a new token; throws NoAnswer, or Refused where the server does not know this tablet. */
export async function renewToken(): Promise<string> {
  const [who, ring] = await Promise.all([identity(), readKeys()]);
  if (who === null || ring === null) throw new Refused(401, { code: "not_enrolled", detail: "This tablet is not enrolled." });
  const prove = async (shown: object, said: object): Promise<string> => {
    const me = { tablet_id: who.tablet_id, ...shown };
    const { nonce } = await askJson<{ nonce: string }>("tablet/challenge", { body: me });
    const signature = base64url(await sign(ring, utf8(nonce)));
    return (await askJson<{ token: string }>("tablet/token", { body: { ...me, nonce, signature, ...said } })).token;
  };
  try {
    token = await prove({}, {});
  } catch (problem) {
    if (!(problem instanceof Refused) || problem.code !== "tablet_unproven") throw problem;
    // A server that was restored from an older backup knows its own certificate again.
    token = await prove({ certificate: who.certificate }, { label: who.label });
  }
  return token;
}

/** Ask as this tablet, with the token at hand; does not renew it. */
export async function askAsTablet(path: string, asked: Asked = {}): Promise<Response> {
  const mine = token ?? (await renewToken());
  const answer = await ask(path, { ...asked, headers: { ...asked.headers, Authorization: `Bearer ${mine}` } });
  await heedRevocation(answer);
  return answer;
}

/** Ask as this tablet; a token that ran out is renewed once. */
export async function askAsTabletRenewing(path: string, asked: Asked = {}): Promise<Response> {
  const answer = await askAsTablet(path, asked);
  if (answer.status !== 401 || !(await tokenRanOut(answer))) return answer;
  await renewToken();
  return askAsTablet(path, asked);
}

async function tokenRanOut(answer: Response): Promise<boolean> {
  // A wrong PIN is a 401 as well, and says nothing about the tablet.
  const code = await answer.clone().json().then(
    (problem: unknown) => (problem as { code?: unknown } | null)?.code, () => undefined);
  return !(typeof code === "string" && (code.startsWith("pin_") || code.startsWith("person_")));
}

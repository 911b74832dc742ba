/** Hearing from any answer that this tablet was revoked, and acting on it at once. */

import { raiseAttention } from "../store/identity";
import { shutOut } from "../store/shut-out";

const CODE = "tablet_revoked";
const listeners = new Set<() => void>();

/** Be told when this tablet turns out to be revoked; returns the function that ends it. */
export function onRevoked(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** Look at an answer to this tablet; whatever it was asked for, a revocation is heeded. */
export async function heedRevocation(answer: Response): Promise<void> {
  if (answer.status !== 403) return;
  const problem: unknown = await answer.clone().json().catch(() => null);
  if ((problem as { code?: unknown } | null)?.code !== CODE) return;
  // The screen first: it must not wait for a disk.
  for (const listener of listeners) listener();
  await shutOut();
  await raiseAttention(CODE, "This tablet was revoked. It shows nothing of patients; what it holds is still sent.", false);
}

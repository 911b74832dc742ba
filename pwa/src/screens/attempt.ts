/** Runs what may fail and keeps the sentence about it for the screen. */
import { signal } from "@preact/signals";
import { t } from "../text";

export const trouble = signal<string | null>(null);
export const busy = signal(false);

/** Run one command at a time; answers whether it was done. */
export async function attempt(work: () => Promise<void>): Promise<boolean> {
  if (busy.value) return false;
  busy.value = true;
  trouble.value = null;
  try {
    await work();
    return true;
  } catch (error) {
    trouble.value = words(error);
    return false;
  } finally {
    busy.value = false;
  }
}

export function words(error: unknown): string {
  const { code, message } = error as { code?: string; message?: string };
  const known = code ? t.common.errors[code] : undefined;
  if (typeof known === "string") return known;
  return (t.common.errors["other"] as (detail: string) => string)(message ?? String(error));
}

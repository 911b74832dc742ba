/** Runs what may fail and keeps the sentence about it for the screen. */
import { signal } from "@preact/signals";
import { language, t } from "../text";

export const trouble = signal<string | null>(null);
export const busy = signal(false);

let current: Promise<unknown> = Promise.resolve();

/** Run a command after the one that is running: of several quick taps none is lost. */
export async function inTurn(work: () => Promise<void>): Promise<boolean> {
  while (busy.value) await current;
  return attempt(work);
}

/** Run one command at a time; answers whether it was done. */
export function attempt(work: () => Promise<void>): Promise<boolean> {
  if (busy.value) return Promise.resolve(false);
  const mine = run(work);
  current = mine;
  return mine;
}

async function run(work: () => Promise<void>): Promise<boolean> {
  busy.value = true;
  trouble.value = null;
  try {
    await work();
    return true;
  } catch (error) {
    trouble.value = await wordsOrSentences(error);
    return false;
  } finally {
    busy.value = false;
  }
}

/** The engine's own sentences stand apart from the first screens, which never need them. */
async function wordsOrSentences(error: unknown): Promise<string> {
  const { said = [] } = error as { said?: readonly string[] };
  if (said.length === 0) return words(error);
  const { sentence } = await import("../parts/said");
  return otherwise(said.map(sentence).join(" "));
}

const otherwise = (detail: string): string => (t.common.errors["other"] as (detail: string) => string)(detail);

/**
 * What the server or the tablet refused, in the language shown: by its code, else as it came. In
 * English it is said as it came, which may be more exact than what one code says.
 */
export function problemText(error: unknown): string {
  const { code = "", message } = error as { code?: string; message?: string };
  const came = message ?? String(error);
  if (language() === "en") return came;
  const said = { ...t.problems, ...t.notices?.commands } as Readonly<Record<string, string>>;
  return said[code] ?? came;
}

export function words(error: unknown): string {
  const { code } = error as { code?: string };
  const known = code ? t.common.errors[code] : undefined;
  if (typeof known === "string") return known;
  return otherwise(problemText(error));
}

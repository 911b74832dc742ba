/** What is wrong with a secret, by field, in the language shown. */
import { timeText } from "../../parts/dates";
import { Refused } from "../../sync/client";
import { t } from "../../text";

export type Field = "sign_in" | "password" | "repeat" | "pin" | "pin_repeat" | "code" | "password_now";
export type Wrongs = Partial<Record<Field, string>>;

export const PASSWORD_ALONE = 15;
export const PASSWORD_BESIDE_FACTOR = 8;

/** What of a refusal stands at a field; null where it is about something else. */
export function wrongsOf(error: unknown): Wrongs | null {
  if (!(error instanceof Refused)) return null;
  const w = t.access.wrong;
  const { shortest, until } = error.facts as { shortest?: number; until?: string };
  const by_code: Record<string, Wrongs> = {
    password_form: { password: w.short(shortest ?? PASSWORD_ALONE) },
    password_common: { password: w.common },
    sign_in_form: { sign_in: w.signInForm },
    sign_in_taken: { sign_in: w.taken },
    pin_form: { pin: w.pinForm },
    password_wrong: { password_now: w.now },
    password_locked: { password_now: w.nowLocked(timeText(until)) },
  };
  if (error.code === "code_wrong" && "errors" in error.facts) return { code: w.code };
  return by_code[error.code] ?? null;
}

/** What is wrong with a password that was typed twice, as far as this page can tell. */
export function passwordWrongs(password: string, repeat: string, beside_factor: boolean): Wrongs {
  const shortest = beside_factor ? PASSWORD_BESIDE_FACTOR : PASSWORD_ALONE;
  if (password.length < shortest) return { password: t.access.wrong.short(shortest) };
  return password === repeat ? {} : { repeat: t.access.wrong.differs };
}

export function pinWrongs(pin: string, repeat: string): Wrongs {
  if (!/^[0-9]{6}$/.test(pin)) return { pin: t.access.wrong.pinForm };
  return pin === repeat ? {} : { pin_repeat: t.access.wrong.differs };
}

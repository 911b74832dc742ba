/** Who may do what, as far as the screens ask: mirror of `api/people/rights.py`, which decides. */
import { person } from "./state";

export const RIGHTS = {
  "house.read": ["clinician", "assistant", "front_desk", "manager", "safety_officer", "auditor", "administrator"],
  "record.read": ["clinician", "assistant", "front_desk", "manager", "safety_officer", "auditor"],
  "record.write": ["clinician", "assistant"],
  "record.sign": ["clinician"],
  "record.void": ["clinician"],
  "record.release": ["front_desk", "manager"],
  "record.place": ["clinician", "front_desk", "manager"],
  "preset.write": ["clinician", "safety_officer"],
  "list.write": ["safety_officer"],
  "room.write": ["safety_officer"],
} as const satisfies Record<string, readonly string[]>;
export type Right = keyof typeof RIGHTS;

/** Whether the person who is signed in has this right; nobody has none. */
export function may(right: Right): boolean {
  const roles: readonly string[] = RIGHTS[right];
  return person.value?.roles.some((role) => roles.includes(role)) ?? false;
}

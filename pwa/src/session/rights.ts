/** Who may do what, as far as the screens ask: mirror of `api/people/rights.py`, which decides. */
import { localDay } from "./lists";
import { person, zone } from "./state";
import type { Person } from "./types";

export const RIGHTS = {
  "house.read": ["clinician", "assistant", "front_desk", "manager", "safety_officer", "auditor", "administrator"],
  "record.read": ["clinician", "assistant", "front_desk", "manager", "safety_officer", "auditor"],
  "record.write": ["clinician", "assistant"],
  "record.sign": ["clinician"],
  "record.void": ["clinician"],
  "record.release": ["front_desk", "manager"],
  "record.place": ["clinician", "front_desk", "manager"],
  "people.read": ["manager", "safety_officer", "auditor", "administrator"],
  "people.write": ["manager", "administrator"],
  "session.end": ["administrator"],
  "location.write": ["administrator"],
  "emergency.elsewhere": ["clinician", "assistant", "front_desk", "manager", "safety_officer", "administrator"],
  "emergency.acknowledge": ["manager", "safety_officer", "administrator"],
  "operator.write": ["manager", "safety_officer", "administrator"],
  "tablet.write": ["administrator"],
  "backup.read": ["manager", "administrator"],
  "group.read": ["clinician", "manager", "safety_officer", "administrator"],
  "group.roll_out": ["safety_officer"],
  "aside.read": ["clinician", "manager", "safety_officer", "auditor", "administrator"],
  "retention.read": ["clinician", "manager", "auditor", "safety_officer"],
  "retention.write": ["clinician", "manager"],
  "log.read": ["auditor", "safety_officer", "administrator"],
  "preset.write": ["clinician", "safety_officer"],
  "device.write": ["safety_officer", "administrator"],
  "register.note": ["clinician", "assistant", "manager", "safety_officer", "administrator"],
  "incident.write": ["clinician", "assistant", "front_desk", "manager", "safety_officer", "administrator"],
  "incident.settle": ["manager", "safety_officer"],
  "list.write": ["safety_officer"],
  "room.write": ["safety_officer"],
  "verification.write": ["clinician", "assistant", "safety_officer"],
  "device.release": ["safety_officer"],
  "exposed.read": ["safety_officer", "clinician", "manager", "auditor"],
} as const satisfies Record<string, readonly string[]>;
export type Right = keyof typeof RIGHTS;

/** The roles that count now; an auditor's counts through its last day. Mirror of `roles_at`. */
export function rolesNow(who: Pick<Person, "roles" | "auditor_until" | "left_at">): string[] {
  if (who.left_at) return [];
  const day = localDay(Date.now(), zone.value);
  return who.roles.filter((role) => role !== "auditor" || (who.auditor_until ?? "") >= day);
}

/** Whether the person who is signed in has this right, by role or in an emergency; nobody has none. */
export function may(right: Right): boolean {
  const roles: readonly string[] = RIGHTS[right];
  const who = person.value;
  return who !== null && (who.roles.some((role) => roles.includes(role)) || Boolean(who.emergency?.rights.includes(right)));
}

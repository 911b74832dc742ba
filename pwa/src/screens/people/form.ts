/** What is typed of a person, and what is wrong with it. */
import { newId } from "../../events/ids";
import type { PersonSaid } from "../../session/people";
import type { Person } from "../../session/types";

export interface PersonForm { id: string; name: string; initials: string; roles: string[]; credential: string; until: string; key: string }

export const personForm = (person: Person | null): PersonForm => ({
  id: person?.person_id ?? newId(), name: person?.display_name ?? "", initials: person?.initials ?? "",
  roles: person?.left_at ? [] : [...(person?.roles ?? [])], credential: person?.credential ?? "", until: person?.auditor_until ?? "", key: newId(),
});

export function personSaid(form: PersonForm, person: Person | null): PersonSaid {
  return {
    display_name: form.name.trim(), initials: form.initials.trim(), roles: form.roles,
    credential: form.credential.trim() || null,
    // Kept as an older version noted it; what is known of a licence now stands among the credentials.
    licence_expires: person?.licence_expires ?? null,
    auditor_until: form.roles.includes("auditor") ? form.until || null : null,
  };
}

export type Field = "name" | "initials" | "roles" | "until";

/** What is wrong, by field: a key of `t.people.wrong`. `today` is YYYY-MM-DD. */
export function personWrong(form: PersonForm, today: string): Partial<Record<Field, string>> {
  const wrong: Partial<Record<Field, string>> = {};
  if (!form.name.trim()) wrong.name = "name";
  if (!form.initials.trim()) wrong.initials = "initials";
  if (form.roles.length === 0) wrong.roles = "roles";
  if (form.roles.includes("auditor")) {
    if (!form.until) wrong.until = "auditor_end_missing";
    else if (form.until < today) wrong.until = "auditor_end_past";
  }
  return wrong;
}

/**
 * Whether an operator is allowed what they do: what stands in the register at that moment. Pure;
 * mirror of `api/records/operators.py`, held to the same vectors.
 */

export const CREDENTIAL_KINDS = ["licence", "course", "hands_on", "device_training"] as const;
export type CredentialKind = (typeof CREDENTIAL_KINDS)[number];

export interface Credential {
  credential_id: string;
  kind: CredentialKind;
  text: string;
  device_id?: string | null;
  hours?: string | null;
  issued_on?: string | null;
  expires_on?: string | null;
  noted_at: string;
  /** When it was replaced or taken back. */
  ended_at: string | null;
}

export interface Scope {
  device_ids?: readonly string[] | null;
  procedure_kind_ids?: readonly string[] | null;
  /** Which credentials it takes; null: a licence. */
  needs?: readonly CredentialKind[] | null;
  note?: string | null;
  decided_at: string;
}

export interface Operator { licence_expires?: string | null; credentials?: readonly Credential[]; scopes?: readonly Scope[] }

export type FindingCode = "credential_missing" | "credential_expired" | "outside_scope_device" | "outside_scope_procedure";
export interface Finding { code: FindingCode; kind: CredentialKind | null; expires_on: string | null }

const NEEDED: readonly CredentialKind[] = ["licence"];

/** What stands against this operator at `at_ms`, which is `day` (YYYY-MM-DD) at the location. */
export function findings(
  person: Operator, { at_ms, day, device_id, procedure_kind_id }: { at_ms: number; day: string; device_id: string | null; procedure_kind_id: string | null },
): Finding[] {
  const scope = scopeAt(person, at_ms);
  const needed = scope?.needs ?? NEEDED;
  const held = heldAt(person, at_ms, device_id);
  const found: Finding[] = [];
  for (const kind of CREDENTIAL_KINDS) {
    const ends = held.filter((one) => one.kind === kind).map((one) => one.expires_on ?? null);
    if (ends.length === 0) {
      if (needed.includes(kind)) found.push({ code: "credential_missing", kind, expires_on: null });
      continue;
    }
    const last = ends.reduce((best, one) => (best === null || one === null ? null : one > best ? one : best));
    // Good through the day that is printed on it.
    if (last !== null && last < day) found.push({ code: "credential_expired", kind, expires_on: last });
  }
  const outside = (code: FindingCode, allowed: readonly string[] | null | undefined, used: string | null) => {
    if (allowed != null && !(used !== null && allowed.includes(used))) found.push({ code, kind: null, expires_on: null });
  };
  outside("outside_scope_device", scope?.device_ids, device_id);
  outside("outside_scope_procedure", scope?.procedure_kind_ids, procedure_kind_id);
  return found;
}

/** The licence that is good for longest, where its end is known. */
export function licenceOf(person: Operator & { credential?: string | null }, at_ms: number): { text: string; expires_on: string } | null {
  const noted = (person.credentials ?? []).filter((one) => one.kind === "licence" && one.ended_at === null && Date.parse(one.noted_at) <= at_ms);
  const ends = noted.flatMap((one) => (one.expires_on ? [{ text: one.text, expires_on: one.expires_on }] : []));
  if (noted.length > 0) return ends.sort((a, b) => b.expires_on.localeCompare(a.expires_on))[0] ?? null;
  return person.licence_expires ? { text: person.credential ?? "", expires_on: person.licence_expires } : null;
}

export function scopeAt(person: Operator, at_ms: number): Scope | null {
  const decided = (person.scopes ?? []).filter((one) => Date.parse(one.decided_at) <= at_ms);
  return decided[decided.length - 1] ?? null;
}

function heldAt(person: Operator, at_ms: number, device_id: string | null): { kind: CredentialKind; expires_on?: string | null }[] {
  const held: { kind: CredentialKind; expires_on?: string | null }[] = (person.credentials ?? []).filter((one) =>
    Date.parse(one.noted_at) <= at_ms && !(one.ended_at && Date.parse(one.ended_at) <= at_ms)
    && (one.kind !== "device_training" || one.device_id == null || one.device_id === device_id));
  // As it stood with the person before credentials had entries of their own.
  if (person.licence_expires && !held.some((one) => one.kind === "licence")) held.push({ kind: "licence", expires_on: person.licence_expires });
  return held;
}

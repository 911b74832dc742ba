/** What an administrator's desk says of people; who they are is in `house`. */
import { say } from "./commands_house";
import { house, personName } from "./house";
import type { PersonLine } from "../sync/desk-people";
import type { Credential, Scope } from "./operators";
import type { Person } from "./types";

export const ROLES = ["clinician", "assistant", "front_desk", "manager", "safety_officer", "auditor", "administrator"] as const;

export interface PersonSaid {
  display_name: string;
  initials: string;
  roles: string[];
  credential: string | null;
  licence_expires: string | null;
  auditor_until: string | null;
}

/** Register a person, or say anew who they are; the same `key` again does it once. */
export async function registerPerson(person_id: string, said: PersonSaid, key: string): Promise<void> {
  await say({ type: "person.registered", entity_id: person_id, payload: said }, key);
}

export async function endWork(person_id: string, reason: string | null, key: string): Promise<void> {
  await say({ type: "person.left", entity_id: person_id, payload: { reason } }, key);
}

/** Note a credential; under the id of an earlier one it takes its place. */
export async function noteCredential(person_id: string, said: Omit<Credential, "noted_at" | "ended_at">, key: string): Promise<void> {
  await say({ type: "credential.noted", entity_id: person_id, payload: said }, key);
}

export async function withdrawCredential(person_id: string, credential_id: string, reason: string, key: string): Promise<void> {
  await say({ type: "credential.withdrawn", entity_id: person_id, payload: { credential_id, reason } }, key);
}

export async function decideScope(person_id: string, said: Omit<Scope, "decided_at">, key: string): Promise<void> {
  await say({ type: "scope.decided", entity_id: person_id, payload: said }, key);
}

/** Everybody there is or was. */
export const anybody = (person_id: string): Person | null =>
  [...house.value.people, ...house.value.left].find((one) => one.person_id === person_id) ?? null;

/** The words that a line of the history is told with; `t.people` has them in the language shown. */
export interface HistoryWords {
  roles: Record<string, string>;
  history: {
    program: string; and: string; nothing: string; fields: Record<string, string>;
    registered: (who: string, roles: string) => string; returned: (who: string, roles: string) => string;
    left: (who: string, reason: string | null) => string; given: (who: string, roles: string) => string;
    taken: (who: string, roles: string) => string; changed: (who: string, field: string, was: string, now: string) => string;
    same: (who: string) => string; erased: (who: string) => string;
    credential: (who: string, what: string, until: string | null) => string; credentialGone: (who: string, reason: string) => string;
    scope: (who: string, devices: string, kinds: string) => string;
    linkMade: (who: string, what: string) => string; linkUsed: (who: string) => string; purposes: Record<string, string>;
  };
  operator: { kinds: Record<string, string>; allDevices: string; allKinds: string; nothing: string };
}

/** One line of a person's history in plain sentences. */
export function told(line: PersonLine, words: HistoryWords, unknown: string, dayText: (day: string) => string): string[] {
  const w = words.history;
  const who = line.by === null ? w.program : personName(line.by) ?? unknown;
  const roles = (list: readonly string[]) => list.map((one) => words.roles[one] ?? one).join(w.and);
  const value = (field: string, text: string | null) =>
    !text ? w.nothing : /_(until|expires)$/.test(field) ? dayText(text) : `“${text}”`;
  if (line.what === "erased") return [w.erased(who)];
  const of = (line.said ?? {}) as Record<string, string | null> & { device_ids?: string[] | null; procedure_kind_ids?: string[] | null };
  if (line.what === "credential") return [w.credential(who, `${words.operator.kinds[of["kind"] ?? ""] ?? ""}: ${of["text"] ?? ""}`, of["expires_on"] ? dayText(of["expires_on"]) : null)];
  if (line.what === "credential_withdrawn") return [w.credentialGone(who, of["reason"] ?? "")];
  if (line.what === "link_made") return [w.linkMade(who, w.purposes[line.purpose ?? ""] ?? "")];
  if (line.what === "link_used") return [w.linkUsed(who)];
  if (line.what === "scope") {
    const named = (ids: readonly string[] | null | undefined, all: string, name: (id: string) => string | undefined) =>
      ids == null ? all : ids.map((id) => name(id) ?? id).join(", ") || words.operator.nothing;
    return [w.scope(who, named(of.device_ids, words.operator.allDevices, (id) => house.value.devices.find((one) => one.device_id === id)?.label),
      named(of.procedure_kind_ids, words.operator.allKinds, (id) => house.value.kinds.find((one) => one.procedure_kind_id === id)?.text))];
  }
  if (line.what === "left") return [w.left(who, line.reason ?? null)];
  if (line.what === "registered" || line.what === "returned") return [w[line.what](who, roles(line.roles ?? []))];
  const said = [
    ...(line.roles_given?.length ? [w.given(who, roles(line.roles_given))] : []),
    ...(line.roles_taken?.length ? [w.taken(who, roles(line.roles_taken))] : []),
    ...(line.changes ?? []).map((one) => w.changed(who, w.fields[one.field] ?? one.field, value(one.field, one.was), value(one.field, one.now))),
  ];
  return said.length > 0 ? said : [w.same(who)];
}

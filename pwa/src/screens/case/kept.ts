/** Forms of a case that are not entries yet: each belongs to one person and one record, and crosses to no other. */
import { draft, type Draft } from "../../session/draft";
import { person } from "../../session/state";

export function caseDraft<T>(kind: string, record_id: string, initial: T): Draft<T> {
  return draft<T>(`${kind}:${person.value!.person_id}:${record_id}`, initial);
}

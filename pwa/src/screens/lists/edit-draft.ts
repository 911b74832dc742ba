import { draft, type Draft } from "../../session/draft";
import { person } from "../../session/state";
import type { ListForm } from "./edit-form";

/** What a person is changing about a list; it crosses to nobody else. */
export const editDraft = (list_id: string): Draft<ListForm | null> =>
  draft<ListForm | null>(`list-edit:${person.value!.person_id}:${list_id}`, null);

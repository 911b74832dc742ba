/** What is being planned and compared, kept by person and record; and the plan of an open case, which is the case's own. */
import { draft, type Draft } from "../../session/draft";
import { person } from "../../session/state";
import { emptyForm, type PlanForm } from "./form";

/** The plan a person is making: for a new procedure, or for the next pass of an open one. */
export function planDraft(record_id: string | null): Draft<PlanForm> {
  return draft<PlanForm>(`plan:${person.value!.person_id}:${record_id ?? "new"}`, emptyForm());
}

/** The settings an open case is to begin with. Whoever is signed in finds them: the assistant opens, the dentist begins. */
export function casePlan(record_id: string): Draft<PlanForm> {
  return draft<PlanForm>(`case-plan:${record_id}`, emptyForm());
}

export type SideName = "a" | "b";
export interface Pair { a: PlanForm | null; b: PlanForm | null; side: SideName; basis: "set" | "delivered" }

export function pairDraft(record_id: string | null): Draft<Pair> {
  return draft<Pair>(`compare:${person.value!.person_id}:${record_id ?? "new"}`, { a: null, b: null, side: "b", basis: "set" });
}

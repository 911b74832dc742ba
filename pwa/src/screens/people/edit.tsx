import { useSignal } from "@preact/signals";
import { Press } from "../../parts/basics";
import { draft } from "../../session/draft";
import { registerPerson } from "../../session/people";
import { person as signedIn } from "../../session/state";
import type { Person } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go } from "../route";
import { PersonFields } from "./fields";
import { personForm, personSaid, personWrong, type PersonForm } from "./form";
import { today } from "./words";

/** Add a person, or change who somebody is here: the last one saved counts, the log keeps them all. */
export function EditPerson({ person }: { person: Person | null }) {
  const kept = draft<PersonForm | null>(`person:${signedIn.value!.person_id}:${person?.person_id ?? "new"}`, null);
  const tried = useSignal(false);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const form = kept.value.value ?? personForm(person);
  // Not the same key for something else: the server does one command a key.
  const set = (part: Partial<PersonForm>) => kept.set({ ...form, ...part, key: personForm(null).key });
  const wrong = personWrong(form, today());
  const leave = () => { kept.clear(); go("practice", "people", ...(person ? [person.person_id] : [])); };
  const save = () => {
    tried.value = true;
    if (Object.keys(wrong).length > 0) return;
    void attempt(() => registerPerson(form.id, personSaid(form, person), form.key))
      .then((done) => { if (done) { kept.clear(); go("practice", "people", form.id); } });
  };
  return (
    <form class="page narrow" onSubmit={(e) => { e.preventDefault(); save(); }}>
      <h1>{person === null ? t.people.newTitle : t.people.changeTitle(person.display_name)}</h1>
      <PersonFields form={form} set={set} wrong={tried.value ? wrong : {}} />
      <div class="row">
        <Press id="person-save" kind="main" large disabled={busy.value} onPress={save}>{t.people.save}</Press>
        <Press id="person-drop" kind="quiet" onPress={leave}>{t.people.drop}</Press>
      </div>
    </form>
  );
}

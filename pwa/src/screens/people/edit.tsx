import { useSignal } from "@preact/signals";
import { Press } from "../../parts/basics";
import { TextField, Tick, Wrong } from "../../parts/fields";
import { draft } from "../../session/draft";
import { registerPerson, ROLES } from "../../session/people";
import { person as signedIn } from "../../session/state";
import type { Person } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { DayField } from "../day";
import { go } from "../route";
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
  const say = (field: keyof typeof wrong) => (tried.value && wrong[field] ? t.people.wrong[wrong[field]!] : undefined);
  const leave = () => { kept.clear(); go("practice", "people", ...(person ? [person.person_id] : [])); };
  const save = () => {
    tried.value = true;
    if (Object.keys(wrong).length > 0) return;
    void attempt(() => registerPerson(form.id, personSaid(form, person), form.key))
      .then((done) => { if (done) { kept.clear(); go("practice", "people", form.id); } });
  };
  const toggle = (role: string, on: boolean) => set({ roles: ROLES.filter((one) => (one === role ? on : form.roles.includes(one))) });
  return (
    <form class="page narrow" onSubmit={(e) => { e.preventDefault(); save(); }}>
      <h1>{person === null ? t.people.newTitle : t.people.changeTitle(person.display_name)}</h1>
      <TextField id="person-name" label={t.people.name} value={form.name} onChange={(name) => set({ name })} wrong={say("name")} max={200} />
      <TextField id="person-initials" label={t.people.initials} value={form.initials} onChange={(initials) => set({ initials })} wrong={say("initials")} max={8} />
      <fieldset class="field" data-testid="person-roles-choice"><legend>{t.people.rolesOf}</legend>
        <div class="choices">{ROLES.map((role) => (
          <Tick key={role} id={`role-${role}`} checked={form.roles.includes(role)} onChange={(on) => toggle(role, on)}>
            <span>{t.people.roles[role]}</span><span class="under">{t.people.about[role]}</span></Tick>))}</div>
        {say("roles") ? <Wrong id="person-roles-wrong">{say("roles")}</Wrong> : null}
      </fieldset>
      {form.roles.includes("auditor")
        ? <DayField id="auditor-until" label={t.people.auditorDay} hint={t.people.auditorDayHint} value={form.until} min={today()} wrong={say("until")} onChange={(until) => set({ until })} /> : null}
      <TextField id="person-credential" label={t.people.credential} value={form.credential} onChange={(credential) => set({ credential })} max={200} />
      <div class="row">
        <Press id="person-save" kind="main" large disabled={busy.value} onPress={save}>{t.people.save}</Press>
        <Press id="person-drop" kind="quiet" onPress={leave}>{t.people.drop}</Press>
      </div>
    </form>
  );
}

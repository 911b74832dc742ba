import { TextField, Tick, Wrong } from "../../parts/fields";
import { ROLES } from "../../session/people";
import { t } from "../../text";
import { DayField } from "../day";
import type { Field, PersonForm } from "./form";
import { today } from "./words";

/** What is said of somebody at a location; `wrong` is a key of `t.people.wrong` for each field. */
export function PersonFields({ form, set, wrong }: {
  form: PersonForm; set: (part: Partial<PersonForm>) => void; wrong: Partial<Record<Field, string>>;
}) {
  const say = (field: Field) => (wrong[field] ? t.people.wrong[wrong[field]] : undefined);
  const toggle = (role: string, on: boolean) => set({ roles: ROLES.filter((one) => (one === role ? on : form.roles.includes(one))) });
  return (
    <>
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
    </>
  );
}

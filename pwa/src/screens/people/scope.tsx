import { newId } from "../../events/ids";
import { Press } from "../../parts/basics";
import { Choice, TextField, Tick } from "../../parts/fields";
import { draft } from "../../session/draft";
import { house } from "../../session/house";
import { CREDENTIAL_KINDS, scopeAt, type CredentialKind } from "../../session/operators";
import { decideScope } from "../../session/people";
import { person as signedIn } from "../../session/state";
import type { Person } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go } from "../route";

interface Form { devices: string[] | null; kinds: string[] | null; needs: CredentialKind[]; note: string; key: string }

/** Decide with which lasers, and in which kinds of procedure, somebody operates here. */
export function ScopeForm({ person }: { person: Person }) {
  const w = t.people.operator;
  const kept = draft<Form | null>(`scope:${signedIn.value!.person_id}:${person.person_id}`, null);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const now = scopeAt(person, Infinity);
  const form = kept.value.value ?? {
    devices: now?.device_ids ? [...now.device_ids] : null, kinds: now?.procedure_kind_ids ? [...now.procedure_kind_ids] : null,
    needs: [...(now?.needs ?? CREDENTIAL_KINDS.slice(0, 1))], note: now?.note ?? "", key: newId(),
  };
  const set = (part: Partial<Form>) => kept.set({ ...form, ...part, key: newId() });
  const back = () => { kept.clear(); go("practice", "people", person.person_id); };
  const save = () => void attempt(() => decideScope(person.person_id,
    { device_ids: form.devices, procedure_kind_ids: form.kinds, needs: form.needs, note: form.note.trim() || null }, form.key))
    .then((done) => { if (done) back(); });
  return (
    <form class="page narrow" onSubmit={(e) => { e.preventDefault(); save(); }}>
      <h1>{w.scopeOf(person.display_name)}</h1>
      <p class="soft">{w.scopeLead}</p>
      <Some id="scope-devices" legend={w.devices} all={w.allDevices} some={w.theseDevices} value={form.devices} onChange={(devices) => set({ devices })}
        options={house.value.devices.map((one) => ({ id: one.device_id, text: one.label }))} />
      <Some id="scope-kinds" legend={w.kindsOfProcedure} all={w.allKinds} some={w.theseKinds} value={form.kinds} onChange={(kinds) => set({ kinds })}
        options={house.value.kinds.map((one) => ({ id: one.procedure_kind_id, text: one.text }))} />
      <fieldset class="field"><legend>{w.needsLegend}</legend><div class="choices">{CREDENTIAL_KINDS.map((kind) => (
        <Tick key={kind} id={`needs-${kind}`} checked={form.needs.includes(kind)}
          onChange={(on) => set({ needs: CREDENTIAL_KINDS.filter((one) => (one === kind ? on : form.needs.includes(one))) })}>{w.kinds[kind]}</Tick>))}</div></fieldset>
      <TextField id="scope-note" label={w.note} value={form.note} onChange={(note) => set({ note })} max={500} spell />
      <div class="row"><Press id="scope-save" kind="main" large disabled={busy.value} onPress={save}>{t.people.save}</Press>
        <Press id="scope-drop" kind="quiet" onPress={back}>{t.people.drop}</Press></div>
    </form>
  );
}

function Some({ id, legend, all, some, options, value, onChange }: {
  id: string; legend: string; all: string; some: string; options: readonly { id: string; text: string }[];
  value: readonly string[] | null; onChange: (value: string[] | null) => void;
}) {
  return (
    <>
      <Choice id={id} legend={legend} value={value === null ? "all" : "some"} onChange={(which) => onChange(which === "all" ? null : [...(value ?? [])])}
        options={[{ value: "all", text: all }, { value: "some", text: some }]} />
      {value === null ? null : <div class="choices">{options.map((one, i) => (
        <Tick key={one.id} id={`${id}-${i}`} checked={value.includes(one.id)}
          onChange={(on) => onChange(on ? [...value, one.id] : value.filter((each) => each !== one.id))}>{one.text}</Tick>))}</div>}
    </>
  );
}

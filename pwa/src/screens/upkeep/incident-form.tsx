import { useSignal } from "@preact/signals";
import { newId } from "../../events/ids";
import { Press } from "../../parts/basics";
import { Choice, Select, TextField, Tick, Wrong } from "../../parts/fields";
import { draft } from "../../session/draft";
import { house } from "../../session/house";
import { may } from "../../session/rights";
import { openRecords, person, writing } from "../../session/state";
import { recordIncident, type Incident } from "../../session/upkeep";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { MomentField } from "../case/moment";
import { go } from "../route";
import { FirstAid } from "./first-aid";
import { begun, saidIn, wrongIn, type IncidentDraft } from "./incident-draft";

const LONGEST = 4000;

/** What went wrong, with first aid before the first field; a draft stays until it is saved or dropped. */
export function IncidentForm({ from, record_id }: { from: Incident | null; record_id: string | null }) {
  const w = t.upkeep;
  const kept = draft<IncidentDraft | null>(`incident:${person.value!.person_id}:${from?.incident_id ?? record_id ?? "new"}`, null);
  const tried = useSignal(false);
  if (!kept.ready.value) return <div class="page narrow"><FirstAid /><p role="status">{t.common.loading}</p></div>;
  const form = kept.value.value ?? begun(from, openRecords.value.find((one) => one.record_id === record_id) ?? null);
  const set = (part: Partial<IncidentDraft>) => kept.set({ ...form, ...part, key: newId() });
  const lacks = wrongIn(form, Date.now());
  const wrong = (name: keyof IncidentDraft) => (tried.value && lacks[name] ? w.wrong[lacks[name]] : undefined);
  const inCase = from === null && openRecords.value.some((one) => one.record_id === record_id);
  const leave = () => { kept.clear(); if (inCase) go("case", record_id!); else go("practice", "incidents", ...(from ? [from.incident_id] : [])); };
  const save = () => {
    tried.value = true;
    if (Object.keys(lacks).length > 0) return;
    const out = form.take_out && form.device_id !== "";
    void attempt(() => recordIncident(form.id, saidIn(form, from), out && !from?.device_taken_out ? w.takenOutFor(w.kinds[form.kind]!) : null, form.key))
      .then((held) => { if (held) { kept.clear(); go("practice", "incidents", form.id); } });
  };
  const lasers = [{ value: "", text: w.noLaser }, ...house.value.devices.map((one) => ({ value: one.device_id, text: one.label }))];
  return (
    <form class="page narrow" data-testid="incident-form" onSubmit={(event) => { event.preventDefault(); save(); }}>
      <h1>{from ? w.correct : w.wentWrong}</h1>
      <FirstAid />
      <Choice id="incident-kind" legend={w.kind} value={form.kind} wrong={wrong("kind")} onChange={(kind) => set({ kind })} options={Object.entries(w.kinds).map(([value, text]) => ({ value, text }))} />
      <Choice id="incident-harm" legend={w.harm} across value={form.harm} wrong={wrong("harm")} onChange={(harm) => set({ harm })} options={Object.entries(w.harms).map(([value, text]) => ({ value, text }))} />
      <MomentField id="incident-at" label={w.at} value={form.at} wrong={wrong("at")} onChange={(at) => set({ at })} />
      <TextField id="incident-what" label={w.what} hint={w.noNames} long spell max={LONGEST} value={form.what} wrong={wrong("what")} onChange={(what) => set({ what })} />
      <TextField id="incident-done" label={w.atOnce} hint={w.atOnceHint} long spell max={LONGEST} value={form.done_at_once} wrong={wrong("done_at_once")} onChange={(done_at_once) => set({ done_at_once })} />
      <fieldset class="field" data-testid="incident-people"><legend>{w.people}</legend>
        <div class="choices">{Object.entries(w.roles).map(([role, text]) => (
          <Tick key={role} id={`incident-role-${role}`} checked={form.roles.includes(role)}
            onChange={(on) => set({ roles: on ? [...form.roles, role] : form.roles.filter((one) => one !== role) })}>{text}</Tick>))}</div>
      </fieldset>
      <Select id="incident-laser" label={w.laser} value={form.device_id} onChange={(device_id) => set({ device_id, ...(device_id === "" ? { take_out: false } : {}) })} options={lasers} />
      <TextField id="incident-settings" label={w.settings} hint={form.record_id ? w.settingsOfCase : w.settingsHint} max={400} value={form.settings_text} onChange={(settings_text) => set({ settings_text, settings: null })} />
      {form.device_id !== "" && !from?.device_taken_out && may("verification.write")
        ? <><Tick id="incident-take-out" checked={form.take_out} onChange={(take_out) => set({ take_out })}>{w.takeOut}</Tick><p class="small soft">{t.service.caution}</p></> : null}
      {tried.value && Object.keys(lacks).length > 0 ? <Wrong id="incident-wrong">{t.registers.lookAgain(Object.keys(lacks).length)}</Wrong> : null}
      <div class="row"><Press id="incident-save" kind="main" large submit disabled={busy.value || !writing.value} onPress={() => undefined}>{w.save}</Press>
        <Press id="incident-drop" kind="quiet" onPress={leave}>{t.registers.drop}</Press></div>
    </form>
  );
}

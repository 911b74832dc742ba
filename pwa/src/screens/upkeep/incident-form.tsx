import { useSignal } from "@preact/signals";
import type { IncidentRecorded } from "../../events/catalogue";
import { newId } from "../../events/ids";
import { nowText } from "../../events/times";
import { Press } from "../../parts/basics";
import { Choice, Select, TextField, Tick, Wrong } from "../../parts/fields";
import { draft } from "../../session/draft";
import type { RecordDocument } from "../../session/fold";
import { house } from "../../session/house";
import { may } from "../../session/rights";
import { openRecords, person, writing } from "../../session/state";
import { recordIncident, type Incident } from "../../session/upkeep";
import type { Settings } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { MomentField } from "../case/moment";
import { settingsText } from "../facts";
import { localOf, momentOf } from "../moment-text";
import { go } from "../route";
import { FirstAid } from "./first-aid";

interface Form {
  id: string; key: string; at: string; kind: string; harm: string; what: string; roles: string[]; device_id: string; settings_text: string;
  record_id: string | null; settings: Settings | null; done_at_once: string; take_out: boolean;
}
const LONGEST = 4000;

/** What went wrong, with first aid before the first field; a draft stays until it is saved or dropped. */
export function IncidentForm({ from, record_id }: { from: Incident | null; record_id: string | null }) {
  const w = t.upkeep;
  const kept = draft<Form | null>(`incident:${person.value!.person_id}:${from?.incident_id ?? "new"}`, null);
  const tried = useSignal(false);
  if (!kept.ready.value) return <div class="page narrow"><FirstAid /><p role="status">{t.common.loading}</p></div>;
  const form = kept.value.value ?? begun(from, openRecords.value.find((one) => one.record_id === record_id) ?? null);
  const set = (part: Partial<Form>) => kept.set({ ...form, ...part, key: newId() });
  const lacks = wrongOf(form);
  const wrong = (name: keyof Form) => (tried.value ? lacks[name] : undefined);
  const leave = () => { kept.clear(); go("practice", "incidents", ...(from ? [from.incident_id] : [])); };
  const save = () => {
    tried.value = true;
    if (Object.keys(lacks).length > 0) return;
    const out = form.take_out && form.device_id !== "";
    void attempt(() => recordIncident(form.id, said(form, from), out && !from?.device_taken_out ? w.takenOutFor(w.kinds[form.kind]!) : null, form.key))
      .then((held) => { if (held) { kept.clear(); go("practice", "incidents", form.id); } });
  };
  const lasers = [{ value: "", text: w.noLaser }, ...house.value.devices.map((one) => ({ value: one.device_id, text: one.label }))];
  return (
    <form class="page narrow" data-testid="incident-form" onSubmit={(event) => { event.preventDefault(); save(); }}>
      <h1>{from ? w.correct : w.wentWrong}</h1>
      <FirstAid />
      <Choice id="incident-kind" legend={w.kind} value={form.kind} wrong={wrong("kind")} onChange={(kind) => set({ kind })} options={Object.entries(w.kinds).map(([value, text]) => ({ value, text }))} />
      <Choice id="incident-harm" legend={w.harm} across value={form.harm} wrong={wrong("harm")} onChange={(harm) => set({ harm })} options={Object.entries(w.harms).map(([value, text]) => ({ value, text }))} />
      <MomentField id="incident-at" label={w.at} value={form.at} onChange={(at) => set({ at })} />
      {wrong("at") ? <Wrong id="incident-at-wrong">{wrong("at")}</Wrong> : null}
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

function begun(from: Incident | null, record: RecordDocument | null): Form {
  const last = record?.passes.at(-1) ?? null;
  const settings = (last?.settings ?? null) as Settings | null;
  const first = from ?? null;
  return {
    id: first?.incident_id ?? newId(), key: newId(), at: localOf(first?.happened_at ?? nowText()), kind: first?.kind ?? "", harm: first?.harm ?? "", what: first?.what ?? "",
    roles: first?.people.map(({ role }) => role) ?? [], device_id: first?.device_id ?? record?.device?.device_id ?? "",
    settings_text: first?.settings_text ?? (settings ? settingsText(settings) : ""), record_id: first?.record_id ?? record?.record_id ?? null,
    settings: (first?.settings as Settings | null | undefined) ?? settings, done_at_once: first?.done_at_once ?? "", take_out: first?.device_taken_out ?? false,
  };
}

function wrongOf(form: Form): Partial<Record<keyof Form, string>> {
  const w = t.upkeep.wrong;
  const at = momentOf(form.at);
  return {
    ...(form.kind ? {} : { kind: w.choose }), ...(form.harm ? {} : { harm: w.choose }),
    ...(form.what.trim() ? {} : { what: w.missing }), ...(form.done_at_once.trim() ? {} : { done_at_once: w.missing }),
    ...(at === null ? { at: w.moment } : Date.parse(at) > Date.now() ? { at: w.ahead } : {}),
  };
}

function said(form: Form, from: Incident | null): IncidentRecorded {
  const laser = form.device_id || null;
  return {
    happened_at: momentOf(form.at)!, kind: form.kind, harm: form.harm, what: form.what.trim(),
    people: form.roles.map((role) => ({ role, person_id: from?.people.find((one) => one.role === role)?.person_id ?? null })),
    device_id: laser, handpiece_id: from?.handpiece_id ?? null, settings: form.settings, settings_text: form.settings_text.trim() || null, record_id: form.record_id,
    done_at_once: form.done_at_once.trim(), device_taken_out: Boolean(from?.device_taken_out) || (form.take_out && laser !== null),
  };
}

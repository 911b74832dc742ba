import { useSignal } from "@preact/signals";
import { newId } from "../../events/ids";
import { Press } from "../../parts/basics";
import { Select, TextField } from "../../parts/fields";
import { draft } from "../../session/draft";
import { house } from "../../session/house";
import { CREDENTIAL_KINDS, type CredentialKind } from "../../session/operators";
import { noteCredential, withdrawCredential } from "../../session/people";
import { person as signedIn } from "../../session/state";
import type { Person } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { DayField } from "../day";
import { go } from "../route";

interface Form { id: string; kind: CredentialKind; text: string; device: string; hours: string; issued: string; expires: string; why: string; key: string }

/** Note a credential, or note it anew: the last one noted counts, from then on. */
export function CredentialForm({ person, credential_id }: { person: Person; credential_id: string | null }) {
  const w = t.people.operator;
  const old = (person.credentials ?? []).find((one) => one.credential_id === credential_id && one.ended_at === null) ?? null;
  const kept = draft<Form | null>(`credential:${signedIn.value!.person_id}:${person.person_id}:${credential_id ?? "new"}`, null);
  const tried = useSignal(false);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const form = kept.value.value ?? {
    id: old?.credential_id ?? newId(), kind: old?.kind ?? "licence", text: old?.text ?? "", device: old?.device_id ?? "", hours: old?.hours ?? "",
    issued: old?.issued_on ?? "", expires: old?.expires_on ?? "", why: "", key: newId(),
  };
  const set = (part: Partial<Form>) => kept.set({ ...form, ...part, key: newId() });
  const hours = form.hours.trim().replace(",", ".");
  const wrong = {
    text: form.text.trim() ? null : w.wrong.text,
    hours: hours === "" || /^\d+(\.\d+)?$/.test(hours) ? null : w.wrong.hours,
    expires: form.issued && form.expires && form.expires < form.issued ? w.wrong.expires : null,
  };
  const say = (field: keyof typeof wrong) => (tried.value ? wrong[field] ?? undefined : undefined);
  const back = () => { kept.clear(); go("practice", "people", person.person_id); };
  const save = () => {
    tried.value = true;
    if (wrong.text || wrong.hours || wrong.expires) return;
    void attempt(() => noteCredential(person.person_id, {
      credential_id: form.id, kind: form.kind, text: form.text.trim(), device_id: form.kind === "device_training" ? form.device || null : null,
      hours: form.kind === "licence" ? null : hours || null, issued_on: form.issued || null, expires_on: form.expires || null,
    }, form.key)).then((done) => { if (done) back(); });
  };
  const withdraw = () => void attempt(() => withdrawCredential(person.person_id, form.id, form.why.trim(), form.key)).then((done) => { if (done) back(); });
  return (
    <form class="page narrow" onSubmit={(e) => { e.preventDefault(); save(); }}>
      <h1>{w.credentialOf(person.display_name)}</h1>
      <Select id="credential-kind" label={w.kind} value={form.kind} onChange={(kind) => set({ kind: kind as CredentialKind })}
        options={CREDENTIAL_KINDS.map((value) => ({ value, text: w.kinds[value] ?? value }))} />
      <TextField id="credential-text" label={w.text} hint={w.textHint} value={form.text} onChange={(text) => set({ text })} wrong={say("text")} max={300} />
      {form.kind === "device_training" ? <Select id="credential-device" label={w.device} value={form.device} onChange={(device) => set({ device })}
        options={[{ value: "", text: w.allDevices }, ...house.value.devices.map((one) => ({ value: one.device_id, text: one.label }))]} /> : null}
      {form.kind === "licence" ? null : <TextField id="credential-hours" label={w.hoursLabel} value={form.hours} mode="decimal" onChange={(text) => set({ hours: text })} wrong={say("hours")} max={8} />}
      <DayField id="credential-issued" label={w.issuedOn} value={form.issued} onChange={(issued) => set({ issued })} />
      <DayField id="credential-expires" label={w.expiresOn} hint={w.expiresHint} value={form.expires} onChange={(expires) => set({ expires })} wrong={say("expires")} />
      <div class="row"><Press id="credential-save" kind="main" large disabled={busy.value} onPress={save}>{t.people.save}</Press>
        <Press id="credential-drop" kind="quiet" onPress={back}>{t.people.drop}</Press></div>
      {old ? <section class="stack"><h2>{w.takeBack}</h2>
        <TextField id="credential-why" label={w.why} value={form.why} onChange={(why) => set({ why })} max={500} spell />
        <Press id="credential-withdraw" disabled={busy.value || !form.why.trim()} onPress={withdraw}>{w.takeBackNow}</Press></section> : null}
    </form>
  );
}

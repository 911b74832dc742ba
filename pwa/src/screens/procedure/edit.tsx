import { Press } from "../../parts/basics";
import { TextField, Tick } from "../../parts/fields";
import { listKind, type KindContent } from "../../session/commands_presets";
import { newId } from "../../events/ids";
import { draft } from "../../session/draft";
import { kinds } from "../../session/house_presets";
import { person, writing } from "../../session/state";
import type { ProcedureKind } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go } from "../route";
import { More } from "../../parts/dose";
import { AllProcedures } from "./all";
import { reportedProcedures } from "./reported-names";

interface Form { id: string; text: string; code: string; notes: string; cautions: string; retired: boolean; reported: string[]; key: string }

const formOf = (kind: ProcedureKind | null): Form => ({
  id: kind?.procedure_kind_id ?? newId(), text: kind?.text ?? "", code: kind?.code ?? "", notes: kind?.notes ?? "",
  cautions: kind?.cautions ?? "", retired: kind?.retired ?? false, reported: kind?.reported ?? [], key: newId(),
});

const contentOf = (form: Form): KindContent => ({
  text: form.text.trim(), code: form.code.trim() || null, notes: form.notes.trim() || null, cautions: form.cautions.trim() || null, retired: form.retired,
  reported: form.reported.length > 0 ? form.reported : null,
});

/** Add a kind of procedure, or write its page anew: the last one saved counts, the log keeps them all. */
export function EditKind({ kind }: { kind: ProcedureKind | null }) {
  const kept = draft<Form | null>(`kind:${person.value!.person_id}:${kind?.procedure_kind_id ?? "new"}`, null);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const form = kept.value.value ?? formOf(kind);
  const set = (part: Partial<Form>) => kept.set({ ...form, ...part });
  const content = contentOf(form);
  const plain = (text: string) => text.trim().toLowerCase();
  const taken = kinds.value.some((one) => one.procedure_kind_id !== form.id && plain(one.text) === plain(form.text));
  const same = kind !== null && JSON.stringify(content) === JSON.stringify(contentOf(formOf(kind)));
  const why = content.text === "" ? t.procedures.wrong["name"]! : taken ? t.procedures.wrong["same"]! : same ? t.procedures.wrong["unchanged"]! : null;
  const save = () => void attempt(async () => { await listKind(form.id, content, form.key); })
    .then((done) => { if (done) { kept.clear(); go("practice", "procedures", form.id); } });
  return (
    <form class="page narrow" onSubmit={(e) => { e.preventDefault(); if (why === null) save(); }}>
      <h1>{kind === null ? t.procedures.newTitle : t.procedures.changeTitle(kind.text)}</h1>
      <TextField id="kind-text" label={t.procedures.name} value={form.text} onChange={(text) => set({ text })} wrong={taken ? t.procedures.wrong["same"] : undefined} max={200} spell />
      <TextField id="kind-code" label={t.procedures.code} value={form.code} onChange={(code) => set({ code })} max={60} />
      <TextField id="kind-cautions-text" label={t.procedures.cautions} hint={t.procedures.cautionsHint} value={form.cautions} onChange={(cautions) => set({ cautions })} long max={4000} spell />
      <TextField id="kind-notes-text" label={t.procedures.notes} hint={t.procedures.notesHint} value={form.notes} onChange={(notes) => set({ notes })} long max={4000} spell />
      <More id="kind-reported-choose" title={t.reported.choose(form.reported.length)}>
        <p class="small soft">{t.reported.chooseHint}</p>
        {reportedProcedures().map((name, i) => (
          <Tick key={name} id={`kind-reported-${i}`} checked={form.reported.includes(name)}
            onChange={(on) => set({ reported: reportedProcedures().filter((one) => (one === name ? on : form.reported.includes(one))) })}>
            <span lang="en">{name}</span></Tick>
        ))}
      </More>
      {kind === null ? null : <Tick id="kind-retire" checked={form.retired} onChange={(retired) => set({ retired })}>{t.procedures.retire}</Tick>}
      <p class="small soft" role="status" data-testid="kind-why">{why ?? t.procedures.kept}</p>
      <div class="row">
        <Press id="kind-save" kind="main" large disabled={why !== null || busy.value || !writing.value} onPress={save}>{t.procedures.save}</Press>
        <Press id="kind-drop" kind="quiet" onPress={() => { kept.clear(); go("practice", "procedures", ...(kind ? [kind.procedure_kind_id] : [])); }}>{t.procedures.drop}</Press>
        <AllProcedures />
      </div>
    </form>
  );
}

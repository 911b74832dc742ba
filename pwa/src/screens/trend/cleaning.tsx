import { Notice, Press } from "../../parts/basics";
import { Choice, Select, TextField } from "../../parts/fields";
import { house } from "../../session/house";
import { noteCleaning } from "../../session/optics";
import { writing } from "../../session/state";
import type { Device } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go } from "../route";
import { cleaningDraft, type CleaningForm, cleaningSaid, freshCleaning } from "./form";

/** That an optic of a laser was cleaned: what, by whom and when; the trend marks it. */
export function NoteCleaning({ device }: { device: Device }) {
  const w = t.trend;
  const kept = cleaningDraft(device.device_id);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const form = kept.value.value ?? freshCleaning();
  const change = (part: Partial<CleaningForm>) => kept.set({ ...form, ...part });
  const done = () => { kept.clear(); go("practice", "trend", device.device_id); };
  const said = cleaningSaid(form, device);
  const save = () => void attempt(async () => { if (said) await noteCleaning(said, form.id); }).then((held) => { if (held) done(); });
  const tips = house.value.handpieces.filter((one) => one.device_id === device.device_id);
  return (
    <div class="page">
      <h1>{w.cleanTitle(device.label)}</h1>
      <Notice shape="warn"><p>{w.cleanCaution}</p></Notice>
      <Choice id="clean-what" legend={w.cleanWhat} value={form.what} onChange={(what) => change({ what: what as CleaningForm["what"] })}
        options={Object.entries(w.whatOptics).map(([value, text]) => ({ value, text }))} />
      {form.what === "handpiece lens" || form.what === "tip" ? (
        <Select id="clean-tip" label={w.tip} value={form.handpiece_id} onChange={(handpiece_id) => change({ handpiece_id })}
          options={[{ value: "", text: w.choose }, ...tips.map((one) => ({ value: one.handpiece_id, text: one.label }))]} />
      ) : null}
      <TextField id="clean-note" label={w.cleanNote} hint={w.cleanNoteHint} long spell value={form.note} onChange={(note) => change({ note })} />
      {said === null ? <p class="soft" data-testid="clean-lacks">{w.lacksWhat}</p> : null}
      <Press id="clean-save" kind="main" large wide disabled={said === null || busy.value || !writing.value} onPress={save}>{w.cleanSave}</Press>
      <Press id="clean-drop" kind="quiet" onPress={done}>{w.drop}</Press>
    </div>
  );
}

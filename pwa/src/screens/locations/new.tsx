import { useSignal } from "@preact/signals";
import { newId } from "../../events/ids";
import { Notice, Press } from "../../parts/basics";
import { TextField } from "../../parts/fields";
import { draft } from "../../session/draft";
import { takeSession } from "../../session/places";
import { person, place, zone } from "../../session/state";
import { Refused } from "../../sync/client";
import { openLocation } from "../../sync/places";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go } from "../route";
import { ZoneField } from "./zone-field";

interface Form { name: string; zone: string; key: string }

/** Open a location: a name and a time zone; whoever opens it is its first administrator. */
export function NewLocation() {
  const w = t.places;
  const kept = draft<Form | null>(`location:${person.value!.person_id}:${place.value?.location_id ?? ""}`, null);
  const tried = useSignal(false);
  const refused = useSignal<{ code: string; of: Form } | null>(null);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const form = kept.value.value ?? { name: "", zone: zone.value ?? "", key: newId() };
  const set = (part: Partial<Form>) => kept.set({ ...form, ...part, key: newId() });
  // What the server refused stands at its field until that field is changed.
  const said = refused.value && refused.value.of[refused.value.code === "zone_unknown" ? "zone" : "name"] === form[refused.value.code === "zone_unknown" ? "zone" : "name"] ? refused.value.code : null;
  const wrong = {
    name: tried.value && !form.name.trim() ? w.wrong["name_missing"] : said && said !== "zone_unknown" ? w.wrong[said] : undefined,
    zone: (tried.value && !form.zone) || said === "zone_unknown" ? w.wrong["zone_unknown"] : undefined,
  };
  const back = (...more: string[]) => { kept.clear(); go("practice", "locations", ...more); };
  const save = () => {
    tried.value = true;
    if (!form.name.trim() || !form.zone) return;
    void attempt(async () => {
      try {
        const made = await openLocation(form.name.trim(), form.zone, form.key);
        // From now on this desk says where it is.
        await takeSession().catch(() => undefined);
        back(made.location_id);
      } catch (error) {
        if (!(error instanceof Refused) || !(error.code in w.wrong)) throw error;
        refused.value = { code: error.code, of: form };
      }
    });
  };
  return (
    <form class="page narrow" onSubmit={(e) => { e.preventDefault(); save(); }}>
      <h1>{w.newTitle}</h1>
      <Notice shape="note"><p>{w.newLead}</p></Notice>
      <TextField id="location-name" label={w.name} hint={w.nameHint} value={form.name} max={200} wrong={wrong.name} onChange={(name) => set({ name })} />
      <ZoneField id="location-zone" value={form.zone} wrong={wrong.zone} onChange={(one) => set({ zone: one })} />
      <div class="row">
        <Press id="location-save" kind="main" large disabled={busy.value} onPress={save}>{w.save}</Press>
        <Press id="location-drop" kind="quiet" onPress={() => back()}>{w.drop}</Press>
      </div>
    </form>
  );
}

import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { newId } from "../../events/ids";
import { Notice, Press } from "../../parts/basics";
import { Choice, TextField } from "../../parts/fields";
import { takeSession } from "../../session/places";
import { openEmergencyElsewhere, otherLocations, type OtherPlace } from "../../sync/places";
import { t } from "../../text";
import { attempt, busy, words } from "../attempt";
import { go } from "../route";

/** For whoever needs a record of a location of the practice where they have no role. */
export function EmergencyElsewhere() {
  const w = t.emergency;
  const found = useSignal<OtherPlace[] | null>(null);
  const failed = useSignal<string | null>(null);
  const there = useSignal("");
  const reason = useSignal("");
  const tried = useSignal(false);
  const key = useSignal(newId());
  useEffect(() => { otherLocations().then((list) => { found.value = list; }, (error: unknown) => { failed.value = words(error); }); }, []);
  const open = () => {
    tried.value = true;
    if (!reason.value.trim() || !there.value) return;
    void attempt(async () => {
      await openEmergencyElsewhere(there.value, reason.value.trim(), key.value);
      await takeSession();
    });
  };
  return (
    <form class="page narrow" onSubmit={(e) => { e.preventDefault(); open(); }}>
      <h1>{w.elsewhereTitle}</h1>
      <Notice shape="warn"><p>{w.elsewhereLead}</p></Notice>
      {failed.value ? <Notice shape="warn" live><p>{failed.value}</p></Notice> : null}
      {found.value === null ? (failed.value ? null : <p role="status">{t.common.loading}</p>) : found.value.length === 0 ? <p>{w.elsewhereNone}</p> : (
        <>
          <Choice id="elsewhere-where" legend={w.where} value={there.value} onChange={(one) => { there.value = one; key.value = newId(); }}
            options={found.value.map((one) => ({ value: one.location_id, text: one.name }))} wrong={tried.value && !there.value ? w.whereMissing : undefined} />
          <TextField id="elsewhere-reason" label={w.reason} hint={w.reasonHint} value={reason.value} max={1000} spell long
            wrong={tried.value && !reason.value.trim() ? w.reasonMissing : undefined} onChange={(text) => { reason.value = text; key.value = newId(); }} />
        </>
      )}
      <div class="row">
        {found.value?.length ? <Press id="elsewhere-go" kind="main" large disabled={busy.value} onPress={open}>{w.elsewhereGo}</Press> : null}
        <Press id="elsewhere-drop" kind="quiet" onPress={() => go("practice")}>{w.drop}</Press>
      </div>
    </form>
  );
}

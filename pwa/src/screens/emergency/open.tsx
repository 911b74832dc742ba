import { useSignal } from "@preact/signals";
import { newId } from "../../events/ids";
import { Notice, Press } from "../../parts/basics";
import { Choice, TextField } from "../../parts/fields";
import { openEmergency } from "../../session/emergencies";
import { takeDesk } from "../../session/state";
import { deskSession } from "../../sync/desk";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go } from "../route";

/** For whoever's role does not include records and needs them now. */
export function OpenEmergency() {
  const w = t.emergency;
  const reason = useSignal("");
  const what = useSignal("read");
  const tried = useSignal(false);
  const key = useSignal(newId());
  const open = () => {
    tried.value = true;
    if (!reason.value.trim()) return;
    void attempt(async () => {
      await openEmergency(reason.value.trim(), what.value === "write", key.value);
      const session = await deskSession();
      if (session) takeDesk(session as never);
    }).then((done) => { if (done) go("records"); });
  };
  return (
    <form class="page narrow" onSubmit={(e) => { e.preventDefault(); open(); }}>
      <h1>{w.title}</h1>
      <Notice shape="warn"><p>{w.lead}</p></Notice>
      <Choice id="emergency-what" legend={w.what} value={what.value} onChange={(next) => { what.value = next; key.value = newId(); }}
        options={[{ value: "read", text: w.read }, { value: "write", text: w.write }]} />
      <TextField id="emergency-reason" label={w.reason} hint={w.reasonHint} value={reason.value} max={1000} spell long
        wrong={tried.value && !reason.value.trim() ? w.reasonMissing : undefined} onChange={(text) => { reason.value = text; key.value = newId(); }} />
      <div class="row">
        <Press id="emergency-go" kind="main" large disabled={busy.value} onPress={open}>{w.go}</Press>
        <Press id="emergency-drop" kind="quiet" onPress={() => go("practice")}>{w.drop}</Press>
      </div>
    </form>
  );
}

import { useSignal } from "@preact/signals";
import { newId } from "../../events/ids";
import { Notice, Press } from "../../parts/basics";
import { TextField } from "../../parts/fields";
import { endWork } from "../../session/people";
import type { Person } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go } from "../route";

/** Before somebody is shut out: what it means, and once more the question. */
export function EndWork({ person }: { person: Person }) {
  const reason = useSignal("");
  const key = useSignal(newId());
  const back = () => go("practice", "people", person.person_id);
  const end = () => void attempt(() => endWork(person.person_id, reason.value.trim() || null, key.value)).then((done) => { if (done) back(); });
  return (
    <form class="page narrow" onSubmit={(e) => { e.preventDefault(); end(); }}>
      <h1>{t.people.endTitle(person.display_name)}</h1>
      <Notice shape="warn"><p>{t.people.endLead}</p></Notice>
      <TextField id="end-reason" label={t.people.endReason} value={reason.value} max={1000} spell onChange={(text) => { reason.value = text; key.value = newId(); }} />
      <div class="row">
        <Press id="end-go" kind="main" large disabled={busy.value} onPress={end}>{t.people.endNow}</Press>
        <Press id="end-drop" kind="quiet" onPress={back}>{t.people.drop}</Press>
      </div>
    </form>
  );
}

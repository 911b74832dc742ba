import { useSignal } from "@preact/signals";
import { Notice, Press } from "../../parts/basics";
import { TextField } from "../../parts/fields";
import { enrolled, status, writing } from "../../session/state";
import { enrolAgain } from "../../sync/enrol";
import { t } from "../../text";
import { problemText } from "../attempt";
import { offeredCode } from "./offered";

/** What ends when this tablet is enrolled again. */
const ENDED_BY_ENROLLING = new Set(["fork", "id_reuse", "gap", "tablet_signed_out", "tablet_not_allowed", "tablet_revoked"]);

/** What needs a person's attention, what to do about it, and where it helps the form that does it. */
export function AttentionNotice() {
  const { attention } = status.value;
  if (!attention) return null;
  const words: Readonly<Record<string, string>> = t.notices.attention;
  const todo: Readonly<Record<string, string>> = t.notices.todo;
  return (
    <Notice shape="warn" id="sync-attention">
      <p>{words[attention.code] ?? attention.text}</p>
      {todo[attention.code] ? <p data-testid="attention-todo">{todo[attention.code]}</p> : null}
      {ENDED_BY_ENROLLING.has(attention.code) ? <AgainOffer /> : null}
    </Notice>
  );
}

/** The form that enrols this tablet again, behind a press or a code that a camera has read. */
export function AgainOffer() {
  const open = useSignal(offeredCode.value !== "");
  if (!writing.value) return null;
  return open.value ? <EnrolAgain onLeave={() => { open.value = false; }} />
    : <Press id="again-open" onPress={() => { open.value = true; }}>{t.door.again.open}</Press>;
}

function EnrolAgain({ onLeave }: { onLeave: () => void }) {
  const w = t.door;
  const code = useSignal(offeredCode.value);
  const busy = useSignal(false);
  const wrong = useSignal<string | null>(null);
  const send = async () => {
    if (busy.value) return;
    busy.value = true;
    wrong.value = null;
    try {
      await enrolAgain(code.value.trim(), enrolled.value?.label ?? "");
      // Everything that was read for the earlier enrolment is read again.
      location.reload();
    } catch (error) {
      wrong.value = w.enrol.failed(problemText(error));
      busy.value = false;
    }
  };
  return (
    <form class="stack" data-testid="again-form" onSubmit={(e) => { e.preventDefault(); void send(); }}>
      <p class="small">{w.again.lead(status.value.waiting)}</p>
      <TextField id="again-code" label={w.enrol.code} hint={w.enrol.codeHint} value={code.value} onChange={(v) => { code.value = v; }} max={40} />
      {wrong.value ? <Notice shape="warn" id="again-wrong" live><p>{wrong.value}</p></Notice> : null}
      <div class="row"><Press id="again-go" kind="main" submit disabled={busy.value || !code.value.trim()} onPress={() => undefined}>{busy.value ? w.enrol.busy : w.again.go}</Press>
        <Press id="again-leave" kind="quiet" onPress={onLeave}>{t.common.cancel}</Press></div>
    </form>
  );
}

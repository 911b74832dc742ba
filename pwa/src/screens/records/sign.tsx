import { useSignal } from "@preact/signals";
import { Notice, Press } from "../../parts/basics";
import { PIN_LENGTH, PinPad } from "../../parts/keypad";
import { reopen, signRecord } from "../../session/commands";
import type { RecordDocument } from "../../session/fold";
import { allRecords, ownRecords, person, writing } from "../../session/state";
import { signInWithPin } from "../../sync/people";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { pinWords } from "../door/sign-in";
import { AfterUseOffer } from "../lists/in-case";
import { go } from "../route";
import { SavedMark } from "../saved";
import { ReadBack } from "./read-back";

const w = t.records.signing;

/** Read everything back, then the PIN again. Afterwards there are only addenda. */
export function Sign({ record_id }: { record_id: string }) {
  const record = allRecords.value.find((r) => r.record_id === record_id);
  if (!record) return <div class="page"><p role="status">{t.records.noMatch}</p></div>;
  const done = record.status === "signed" || record.status === "amended";
  return (
    <div class="page">
      <div class="row spread"><h1>{w.title}</h1><SavedMark record_id={record_id} /></div>
      {done ? <Notice shape="done" id="signed" live><p>{w.done}</p><Press id="signed-go" kind="main" onPress={() => go("records", record_id)}>{w.toRecords}</Press></Notice> : <p>{w.lead}</p>}
      <AfterUseOffer record={record} />
      <ReadBack record={record} />
      {done ? null : <SignForm record={record} />}
    </div>
  );
}

function SignForm({ record }: { record: RecordDocument }) {
  const who = person.value!;
  const pin = useSignal("");
  const wrong = useSignal<string | null>(null);
  const here = ownRecords.value.some((r) => r.record_id === record.record_id);
  if (record.status !== "ended") return <Notice shape="warn"><p>{w.notEnded}</p><Press id="sign-back" onPress={() => go("case", record.record_id)}>{w.backToCase}</Press></Notice>;
  const sign = async () => {
    if (pin.value.length !== PIN_LENGTH) { wrong.value = t.door.sign.digits; return; }
    wrong.value = null;
    const given = pin.value;
    pin.value = "";
    await attempt(async () => {
      try {
        await signInWithPin(who.person_id, given);
      } catch (error) {
        wrong.value = pinWords(error);
        return;
      }
      await signRecord(record, "clinician", w.statement);
    });
  };
  const noTime = record.passes.some((p) => p.laser_on.length === 0);
  return (
    <form class="sheet narrow" data-testid="sign-form" onSubmit={(e) => { e.preventDefault(); void sign(); }}>
      {record.passes.length === 0 ? <Notice shape="warn"><p>{w.noPasses}</p></Notice> : null}
      {noTime ? <Notice shape="warn"><p>{w.missingTime}</p></Notice> : null}
      {here ? <Press id="sign-back" onPress={() => void attempt(() => reopen(record)).then((ok) => { if (ok) go("case", record.record_id); })}>{w.backToCase}</Press> : null}
      {who.roles.includes("clinician") ? (
        <>
          <p class="strong">{w.statement}</p>
          <p>{w.who(who.display_name)}</p>
          <PinPad id="sign-pin" label={w.pin} pin={pin.value} onChange={(v) => { pin.value = v; }} />
          {wrong.value ? <Notice shape="warn" id="sign-wrong" live><p>{wrong.value}</p></Notice> : null}
          <Press id="sign-go" kind="main" large wide submit disabled={busy.value || !writing.value} onPress={() => undefined}>{busy.value ? w.waiting : w.go}</Press>
        </>
      ) : <Notice shape="lock" id="sign-not-allowed"><p>{w.notClinician}</p></Notice>}
    </form>
  );
}

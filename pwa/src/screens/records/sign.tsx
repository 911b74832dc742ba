import { useSignal } from "@preact/signals";
import { Mark, Notice, Press } from "../../parts/basics";
import { reopen } from "../../session/commands";
import { signRecords } from "../../session/commands_record";
import type { RecordDocument } from "../../session/fold";
import { may } from "../../session/rights";
import { isRead, markRead, ownToSign, signerRole, stateOf, toSign } from "../../session/signing";
import { allRecords, ownRecords, person } from "../../session/state";
import { t } from "../../text";
import { attempt } from "../attempt";
import { AfterUseOffer } from "../lists/in-case";
import { go, href } from "../route";
import { SavedMark } from "../saved";
import { OpenPoints, statementOf } from "./open-points";
import { PinForm } from "./pin";
import { ReadBack } from "./read-back";
import { Departures } from "./record";

/** Read everything back, then the PIN again. Afterwards there are only addenda. */
export function Sign({ record_id }: { record_id: string }) {
  const record = allRecords.value.find((r) => r.record_id === record_id);
  if (!record) return <div class="page"><h1>{t.signing.title}</h1><p role="status">{t.records.noMatch}</p></div>;
  const done = record.sign_off !== null;
  if (record.voided) return <div class="page"><h1>{t.signing.title}</h1><Departures record={record} /></div>;
  return (
    <div class="page">
      <div class="row spread"><h1>{t.signing.title}</h1><SavedMark record_id={record_id} /></div>
      {done ? <Done record_id={record_id} /> : <p>{t.signing.lead}</p>}
      <AfterUseOffer record={record} />
      <ReadBack record={record} />
      {done ? null : <SignForm record={record} />}
    </div>
  );
}

function Done({ record_id }: { record_id: string }) {
  const left = toSign.value.length;
  return (
    <Notice shape="done" id="signed" live>
      <p>{t.signing.done}</p>
      <div class="row">
        <Press id="signed-go" kind="main" onPress={() => go("records", record_id)}>{t.signing.toRecords}</Press>
        {left > 0 ? <Press id="signed-more" onPress={() => go("sign")}>{t.signing.others(left)}</Press> : null}
      </div>
    </Notice>
  );
}

function SignForm({ record }: { record: RecordDocument }) {
  const who = person.value!;
  const others = ownToSign.value.filter((one) => one.record_id !== record.record_id).length;
  const begun = useSignal(stateOf(record));
  if (record.status !== "ended") return <Notice shape="warn"><p>{t.signing.notEnded}</p><Press id="sign-back" onPress={() => go("case", record.record_id)}>{t.signing.backToCase}</Press></Notice>;
  if (!may("record.sign")) return <><BackToCase record={record} /><OpenPoints record={record} /><Notice shape="lock" id="sign-not-allowed"><p>{t.signing.notClinician}</p></Notice></>;
  return (
    <>
      <BackToCase record={record} />
      {others > 0 ? <Press id="sign-together" onPress={() => { markRead(record); go("sign"); }}>{t.signing.haveRead}. {t.signing.together} ({others + 1})</Press> : null}
      {begun.value !== stateOf(record) ? (
        <Notice shape="warn" id="sign-changed" live>
          <p>{t.signing.changed}</p>
          <Press id="sign-read-again" onPress={() => { begun.value = stateOf(record); window.scrollTo(0, 0); }}>{t.signing.readAgain}</Press>
        </Notice>
      ) : (
      <PinForm id="sign" label={t.signing.pin} go={t.signing.go} waiting={t.signing.waiting}
        onPin={() => signRecords([record], (one) => statementOf(one, who.person_id))}>
        <OpenPoints record={record} />
        <p class="strong" data-testid="sign-statement">{statementOf(record, who.person_id)}</p>
        <p>{t.signing.who(who.display_name, t.signing.roles[signerRole(record, who.person_id)] ?? "")}</p>
      </PinForm>
      )}
    </>
  );
}

/** What may still be done before the signature: an entry added or corrected, going on with the case. */
export function BackToCase({ record }: { record: RecordDocument }) {
  const here = ownRecords.value.some((r) => r.record_id === record.record_id);
  return (
    <div class="stack">
      {here ? <a class="button" href={href("case", record.record_id, "entries")} data-testid="sign-entries">{t.course.views.entries}</a> : null}
      {here ? <Press id="sign-back" onPress={() => void attempt(() => reopen(record)).then((ok) => { if (ok) go("case", record.record_id); })}>{t.signing.backToCase}</Press> : null}
    </div>
  );
}

/** Whether a record was read in this sitting. */
export function ReadMark({ record }: { record: RecordDocument }) {
  return isRead(record) ? <Mark shape="done">{t.signing.read}</Mark> : <Mark shape="off">{t.signing.notRead}</Mark>;
}

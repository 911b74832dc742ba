import { useSignal } from "@preact/signals";
import { Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { signRecords } from "../../session/commands_record";
import type { RecordDocument } from "../../session/fold";
import { may } from "../../session/rights";
import { isRead, markRead, ownToSign, signerRole, toSign } from "../../session/signing";
import { allRecords, person } from "../../session/state";
import { t } from "../../text";
import { AfterUseOffer } from "../lists/in-case";
import { go } from "../route";
import { SavedMark } from "../saved";
import { nameOf } from "./names";
import { OpenPoints, openTexts, statementOf } from "./open-points";
import { PinForm } from "./pin";
import { ReadBack } from "./read-back";
import { BackToCase, ReadMark } from "./sign";

/** The day's records: each is opened and read, then one PIN signs what was read, each by itself. */
export function Batch() {
  const who = person.value!;
  const done = useSignal(0);
  const records = toSign.value;
  const read = records.filter(isRead);
  return (
    <div class="page">
      <h1>{t.signing.batchTitle}</h1>
      {done.value > 0 ? <Notice shape="done" id="signed" live><p>{t.signing.doneMany(done.value)}</p></Notice> : null}
      {records.length === 0 ? <p role="status" data-testid="sign-none">{t.signing.none}</p> : <p>{t.signing.batchLead}</p>}
      <ul class="list" data-testid="to-sign">{records.map((record) => <Row key={record.record_id} record={record} mine={signerRole(record, who.person_id)} />)}</ul>
      {records.length === 0 ? null : !may("record.sign")
        ? <Notice shape="lock" id="sign-not-allowed"><p>{t.signing.notClinician}</p></Notice>
        : read.length === 0 ? <p class="strong" role="status" data-testid="sign-chosen">{t.signing.noneRead}</p> : (
          <PinForm id="sign" label={t.signing.pin} go={t.signing.goMany(read.length)} waiting={t.signing.waiting}
            onPin={async () => { const count = read.length; await signRecords(read, (one) => statementOf(one, who.person_id)); done.value = count; }}>
            <p class="strong" role="status" data-testid="sign-chosen">{t.signing.chosen(read.length)}</p>
            {read.map((record) => (
              <p key={record.record_id} class="small" data-testid="sign-statement">
                <strong>{record.patient?.chart_number} {record.patient?.second_identifier}</strong>: {statementOf(record, who.person_id)}
                {" "}({t.signing.roles[signerRole(record, who.person_id)]})</p>))}
          </PinForm>
        )}
    </div>
  );
}

function Row({ record, mine }: { record: RecordDocument; mine: string }) {
  const open = openTexts(record);
  return (
    <li class="sheet" data-testid="to-sign-row"><div class="row spread">
      <span class="stack">
        <span class="strong">{record.patient?.chart_number} {record.patient?.second_identifier}</span>
        <span class="small">{record.procedure?.text}, {record.site}</span>
        <span class="small soft">{momentText(record.started_at)}, {nameOf(record, record.operator_id)}{mine === "clinician" ? ` (${t.signing.ownNot.toLowerCase()})` : ""}</span>
        <ReadMark record={record} />
        {open.length > 0 ? <Mark shape="warn">{open.join(" ")}</Mark> : null}
      </span>
      <Press id="sign-read" kind={isRead(record) ? "plain" : "main"} onPress={() => go("sign", record.record_id, "read")}
        label={`${isRead(record) ? t.signing.readAgain : t.signing.readNow}: ${record.patient?.chart_number ?? ""}`}>
        {isRead(record) ? t.signing.readAgain : t.signing.readNow}</Press></div>
    </li>
  );
}

/** One record of the batch, read back whole; it counts as read only by the button at its end. */
export function ReadInBatch({ record_id }: { record_id: string }) {
  const record = allRecords.value.find((r) => r.record_id === record_id);
  if (!record || record.status !== "ended") {
    return <div class="page"><h1>{t.signing.title}</h1><p role="status">{t.records.noMatch}</p><Press id="sign-batch" onPress={() => go("sign")}>{t.signing.backToBatch}</Press></div>;
  }
  // Only one's own lead on to one another: what another has done is signed by choice.
  const next = ownToSign.value.filter((one) => one.record_id !== record_id && !isRead(one));
  const haveRead = () => {
    markRead(record);
    const following = next[0];
    if (following) go("sign", following.record_id, "read");
    else go("sign");
  };
  return (
    <div class="page">
      <div class="row spread"><h1>{t.signing.title}</h1><SavedMark record_id={record_id} /></div>
      <ReadBack record={record} />
      <OpenPoints record={record} />
      <AfterUseOffer record={record} />
      <BackToCase record={record} />
      <div class="row">
        <Press id="sign-batch" onPress={() => go("sign")}>{t.signing.backToBatch}</Press>
        <Press id="sign-have-read" kind="main" large onPress={haveRead}>{t.signing.haveRead}{next.length > 0 ? ` (${t.signing.next(next.length)})` : ""}</Press>
      </div>
    </div>
  );
}

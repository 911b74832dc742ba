import { useEffect } from "preact/hooks";
import { Notice, Press } from "../../parts/basics";
import type { RecordDocument } from "../../session/fold";
import { listFor } from "../../session/house_lists";
import { KINDS, lateness, type ListKind } from "../../session/lists";
import { allRecords } from "../../session/state";
import { t } from "../../text";
import { go, href } from "../route";
import { SavedMark } from "../saved";
import { offer, UndoSlot, withdrawOffer } from "../undo";
import { AnswerList } from "./answer";
import { StateMark } from "./marks";

/** A list that is due and not answered: offered where one is about to go past it, never forced. */
export function ListOffer({ record, kind, onAnswer }: { record: RecordDocument; kind: ListKind; onAnswer: () => void }) {
  const row = lateness(record).find((one) => one.kind === kind);
  if (!row || row.state !== "not answered" || !listFor(kind, Date.now())) return null;
  return (
    <span class="row" data-testid={`offer-${kind}`}>
      <StateMark row={row} record={record} />
      <Press id={`offer-${kind}-go`} label={`${t.lists.answerNow}: ${t.lists.kinds[kind] ?? kind}`} onPress={onAnswer}>{t.lists.answerNow}</Press>
    </span>
  );
}

/** Before the signature: the list after use, while it can still be answered. */
export function AfterUseOffer({ record }: { record: RecordDocument }) {
  const row = lateness(record).find((one) => one.kind === "after_use");
  if (record.status !== "ended") return null;
  // What was just completed may be taken back here, where answering it led to.
  if (offer.value && row?.state !== "not answered") return <UndoSlot>{null}</UndoSlot>;
  if (row?.state !== "not answered" || !listFor("after_use", Date.now())) return null;
  return (
    <Notice shape="note" id="after-use">
      <ListOffer record={record} kind="after_use" onAnswer={() => go("answer", "after_use", record.record_id)} />
      <p class="small soft">{t.lists.beforeSigning}</p>
    </Notice>
  );
}

/** Answering a list of a procedure that has ended: by whoever clears up, before it is signed. */
export function ListOfRecord({ kind, record_id }: { kind: string; record_id: string }) {
  // An offer of another screen does not belong here.
  useEffect(withdrawOffer, []);
  const record = allRecords.value.find((one) => one.record_id === record_id);
  const known = KINDS.find((one) => one === kind);
  if (!record || !known) return <div class="page"><p role="status">{t.records.noMatch}</p><a class="button" href={href("today")}>{t.common.nav.today}</a></div>;
  const leave = () => { if (record.status === "draft") go("case", record_id); else go("sign", record_id); };
  return (
    <>
      <section class="case-head" aria-label={t.case.readBack}>
        <div class="line">
          <span class="who" data-testid="case-patient">{record.patient?.chart_number} {record.patient?.second_identifier} · {record.procedure?.text}, {record.site}</span>
          <SavedMark record_id={record_id} />
        </div>
      </section>
      <div class="page case">
        <AnswerList record={record} kind={known} onDone={leave} onLater={leave} />
      </div>
    </>
  );
}

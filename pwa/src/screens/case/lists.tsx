import { listFor } from "../../session/house_lists";
import { KINDS, type ListKind } from "../../session/lists";
import type { RecordDocument } from "../../session/fold";
import { t } from "../../text";
import { AnswerList } from "../lists/answer";
import { ListOffer } from "../lists/in-case";
import { ListMarks } from "../lists/marks";
import { go } from "../route";
import { Back } from "./views";

const isKind = (kind: string | null): kind is ListKind => (KINDS as readonly string[]).includes(kind ?? "");

/** The lists of one procedure: what is answered, what is not, and answering them. */
export function CaseLists({ record, kind }: { record: RecordDocument; kind: string | null }) {
  const back = () => go("case", record.record_id);
  if (isKind(kind)) return <AnswerList key={kind} record={record} kind={kind} onDone={back} onLater={back} />;
  return (
    <div class="stack narrow">
      <h1>{t.course.views.lists}</h1>
      <ListMarks record={record} onAnswer={(one) => answer(record, one)} />
      <Back record_id={record.record_id} />
    </div>
  );
}

export const answer = (record: RecordDocument, kind: ListKind): void => go("case", record.record_id, "lists", kind);

/** The list of before the patient, offered as long as it has no answer. */
export function BeforePatient({ record }: { record: RecordDocument }) {
  return <ListOffer record={record} kind="before_patient" onAnswer={() => answer(record, "before_patient")} />;
}

/** The list of this pause, where there is one. */
export const asksInPause = (): boolean => listFor("pause", Date.now()) !== null;

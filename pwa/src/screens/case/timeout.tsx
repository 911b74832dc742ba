import type { RecordDocument } from "../../session/fold";
import { AnswerList } from "../lists/answer";
import { BeforePatient } from "./lists";

/** The time-out, with the list before the patient offered beside it as long as it is not answered. */
export function TimeOut({ record, onDone }: { record: RecordDocument; onDone: () => void }) {
  return <AnswerList record={record} kind="time_out" onDone={onDone} beside={<BeforePatient record={record} />} />;
}

import { useSignal } from "@preact/signals";
import type { RecordDocument } from "../../session/fold";
import { AnswerList } from "../lists/answer";
import { ListOffer } from "../lists/in-case";

/** The time-out, with the list before the patient offered beside it as long as it is not answered. */
export function TimeOut({ record, onDone }: { record: RecordDocument; onDone: () => void }) {
  const earlier = useSignal(false);
  const back = () => { earlier.value = false; };
  if (earlier.value) return <AnswerList record={record} kind="before_patient" onDone={back} onLater={back} />;
  return (
    <AnswerList record={record} kind="time_out" onDone={onDone}
      beside={<ListOffer record={record} kind="before_patient" onAnswer={() => { earlier.value = true; }} />} />
  );
}

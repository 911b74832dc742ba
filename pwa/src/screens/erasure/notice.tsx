import { Notice } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import type { RecordDocument } from "../../session/fold";
import { t } from "../../text";
import { nameOf } from "../records/names";

/** That the content of a record was erased: when, by whom, and on which basis. */
export function ErasedNotice({ record }: { record: RecordDocument }) {
  const w = t.erasure;
  const { erased } = record;
  if (!erased) return null;
  return (
    <Notice shape="stop" id="record-erased">
      <p class="strong">{w.erased(nameOf(record, erased.by) || w.onServer, nameOf(record, erased.asked_by) || w.onServer, momentText(erased.at))}</p>
      <p>{w.because(w.bases[erased.basis], erased.citation)}</p>
      <p class="small">{w.place(erased.position)}</p>
      {record.status === "erased" ? null : <p class="strong">{w.later}</p>}
    </Notice>
  );
}

/** What a record was found to have, in words: by its code, and of which pass. */
import type { RecordDocument } from "../../session/fold";
import { t } from "../../text";

type Flag = RecordDocument["flags"][number];

export function flagText(record: Pick<RecordDocument, "passes">, flag: Flag): string {
  const words = (t.notices.flags as Readonly<Record<string, string>>)[flag.code];
  // The server may know more than this app does.
  if (!words) return flag.text;
  const pass = record.passes.find(({ event_id }) => event_id === flag.event_id);
  return pass ? `${t.case.pass(pass.number)}: ${words.charAt(0).toLowerCase()}${words.slice(1)}` : words;
}

import { Notice } from "../../parts/basics";
import type { RecordDocument } from "../../session/fold";
import { listFor } from "../../session/house_lists";
import { openPoints, signerRole, type OpenPoint } from "../../session/signing";
import type { ListKind } from "../../session/lists";
import { t } from "../../text";
import { flagText } from "./flags";

/** What is still open about a record, in words; a list counts as missing only where one is in force. */
export function openTexts(record: RecordDocument): string[] {
  return openPoints(record, (kind: ListKind) => listFor(kind, Date.now()) !== null).map((point) => pointText(record, point));
}

function pointText(record: RecordDocument, point: OpenPoint): string {
  const kinds = t.lists.kinds as Record<string, string>;
  switch (point.code) {
    case "no_answers": return t.signing.noAnswers(point.count);
    case "list_missing": return t.signing.listMissing(kinds[point.kind] ?? point.kind);
    case "list_late": return t.signing.listLate(kinds[point.kind] ?? point.kind);
    case "no_time": return t.signing.noTime(point.passes.join(", "));
    case "flag": return flagText(record, point.flag);
    default: return (t.signing.points as Record<string, string>)[point.code] ?? point.code;
  }
}

/** Said before the signature, and in it. */
export function OpenPoints({ record }: { record: RecordDocument }) {
  const texts = openTexts(record);
  if (texts.length === 0) return null;
  return (
    <Notice shape="warn" id="sign-open">
      <strong>{t.signing.open}</strong>
      <ul class="stack">{texts.map((text) => <li key={text} class="small">{text}</li>)}</ul>
    </Notice>
  );
}

/** What is signed: that it was read, and what was still open when it was. */
export function statementOf(record: RecordDocument, signer_id: string): string {
  const statement = signerRole(record, signer_id) === "supervising dentist" ? t.signing.statementSupervising : t.signing.statement;
  const open = openTexts(record);
  return open.length === 0 ? statement : `${statement} ${t.signing.openIn(open.join(" "))}`;
}

import { Notice } from "../../parts/basics";
import { TextField } from "../../parts/fields";
import type { OperatorAccepted } from "../../events/catalogue";
import type { RecordDocument } from "../../session/fold";
import { house } from "../../session/house";
import { houseZone } from "../../session/house_lists";
import { localDay } from "../../session/lists";
import { findings, type Finding } from "../../session/operators";
import { t } from "../../text";
import { dayText } from "../day";

/** Under which name a form keeps the reason. */
export const OPERATOR = "operator";

/** What stands against somebody operating, as far as this tablet knows; never an obstacle to recording. */
export function against(operator_id: string, device_id: string | null, procedure_kind_id: string | null, now_ms: number): Finding[] {
  const who = house.value.people.find((one) => one.person_id === operator_id);
  return who ? findings(who, { at_ms: now_ms, day: localDay(now_ms, houseZone()), device_id, procedure_kind_id }) : [];
}

/** The same of a case, without what a reason was given for already. */
export function againstNow(record: RecordDocument, operator_id: string | null, now_ms: number): Finding[] {
  const known = new Set((record.accepted ?? []).filter((one) => one.operator_id === operator_id)
    .flatMap((one) => one.findings.map((each) => `${each.code} ${each.kind ?? ""}`)));
  return against(operator_id ?? "", record.device?.device_id ?? null, record.procedure?.procedure_kind_id ?? null, now_ms)
    .filter((one) => !known.has(`${one.code} ${one.kind ?? ""}`));
}

export const accepted = (operator_id: string, found: readonly Finding[], reason: string): OperatorAccepted | null =>
  found.length === 0 ? null : { operator_id, findings: [...found], reason: reason.trim() };

function findingText(one: Finding, name: string): string {
  const thing = one.kind ? t.opening.credentials[one.kind] : "";
  return t.opening.against[one.code](name, thing, dayText(one.expires_on));
}

/** What stands against the operator; with `onReason`, and why it goes on all the same. */
export function AgainstOperator({ operator_id, found, reason, onReason }: {
  operator_id: string | null; found: readonly Finding[]; reason?: string; onReason?: (why: string) => void;
}) {
  if (found.length === 0) return null;
  const name = house.value.people.find((one) => one.person_id === operator_id)?.display_name ?? t.common.unknownPerson;
  return (
    <Notice shape="warn" id="against-operator">
      {found.map((one) => <p key={`${one.code}${one.kind}`}>{findingText(one, name)}</p>)}
      <p>{t.opening.goOn}</p>
      {onReason ? <OperatorReason value={reason ?? ""} onChange={onReason} /> : null}
    </Notice>
  );
}

export function OperatorReason({ value, onChange }: { value: string; onChange: (why: string) => void }) {
  return <TextField id="reason-operator" label={t.opening.whyOperator} value={value} onChange={onChange} max={500} spell />;
}

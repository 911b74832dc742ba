import { Notice } from "../../parts/basics";
import { TextField } from "../../parts/fields";
import { house } from "../../session/house";
import { usesOf } from "../../session/uses";
import { t } from "../../text";

/** Something that stands against going on; a reason lets it go on, and the record keeps both. */
export interface Hindrance { id: string; text: string }

/** What the registers say about what is used; about who operates, see `operator.tsx`, about a laser out of service `service/override.tsx`. Nothing here ever blocks recording. */
export function hindrances(handpiece_id: string): Hindrance[] {
  const found: Hindrance[] = [];
  const tip = house.value.handpieces.find((h) => h.handpiece_id === handpiece_id);
  const use = tip ? usesOf(handpiece_id) + 1 : 0;
  if (tip?.use_limit && use > tip.use_limit) found.push({ id: "uses", text: t.opening.overLimit(tip.label, use, tip.use_limit) });
  return found;
}

export const reasonNote = (one: Hindrance, why: string): string => t.opening.reasonFor(one.text, why.trim());

/** "4th use": which use of a tip the next procedure is, with the register's limit. */
export function useText(handpiece_id: string): string {
  const tip = house.value.handpieces.find((h) => h.handpiece_id === handpiece_id);
  if (!tip) return "";
  const use = usesOf(handpiece_id) + 1;
  return tip.use_limit ? t.opening.useOf(use, tip.use_limit) : t.opening.use(use);
}

export function Hindrances({ found, reasons, onReason }: {
  found: readonly Hindrance[]; reasons: Record<string, string>; onReason: (id: string, why: string) => void;
}) {
  return (
    <>
      {found.map((one) => (
        <Notice key={one.id} shape="warn" id={`hindrance-${one.id}`}>
          <p>{one.text}</p>
          <TextField id={`reason-${one.id}`} label={t.opening.why} value={reasons[one.id] ?? ""} onChange={(why) => onReason(one.id, why)} max={500} spell />
        </Notice>
      ))}
    </>
  );
}

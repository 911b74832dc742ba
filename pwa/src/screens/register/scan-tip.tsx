import { useSignal } from "@preact/signals";
import { Wrong } from "../../parts/fields";
import { house } from "../../session/house";
import { handpieces, inUse } from "../../session/registers";
import type { Handpiece } from "../../session/types";
import { t } from "../../text";
import { Scan } from "./scan";

/** A tip by its label, with the laser it belongs to; in an open case (`fixed`) the laser stays. */
export function ScanTip({ device_id, fixed, onTip }: { device_id: string | null; fixed: boolean; onTip: (tip: Handpiece) => void }) {
  const wrong = useSignal<string | null>(null);
  const w = t.registers;
  const read = (id: string) => {
    const known = handpieces.value.find(({ handpiece_id }) => handpiece_id === id);
    const tip = house.value.handpieces.find(({ handpiece_id }) => handpiece_id === id);
    if (known && !inUse(known)) wrong.value = w.retiredBecause(known.retired?.reason ?? "");
    else if (!tip) wrong.value = w.scan.unknown;
    else if (fixed && tip.device_id !== device_id) wrong.value = w.scan.elsewhere;
    else {
      wrong.value = null;
      onTip(tip);
    }
  };
  return <><Scan id="plan-scan" kind="handpiece" onFound={read} />{wrong.value ? <Wrong id="plan-scan-wrong">{wrong.value}</Wrong> : null}</>;
}

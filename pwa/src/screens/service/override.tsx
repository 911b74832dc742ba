/** Going on with a laser that is out of service: the reason, then the PIN. Never an obstacle to a clinician's necessity. */
import type { ServiceOverridden } from "../../events/catalogue";
import { Notice, Press } from "../../parts/basics";
import { TextField } from "../../parts/fields";
import { overriddenBy, serviceOf } from "../../session/house_service";
import { t } from "../../text";
import { PinForm } from "../records/pin";
import { causeText, OutOfService } from "./mark";

/** Under which name a form keeps the reason. */
export const SERVICE = "service";

export const isOut = (device_id: string): boolean => !serviceOf(device_id).in_service;

/** What goes into the record; null where the laser is in service. */
export const overridden = (device_id: string, reason: string): ServiceOverridden | null => overriddenBy(device_id, reason, causeText);

/** Step 1, in the form of a case: why the laser is out, and why it goes on. */
export function OverrideReason({ device_id, reason, onReason }: { device_id: string; reason: string; onReason: (why: string) => void }) {
  if (!isOut(device_id)) return null;
  return (
    <section class="sheet" data-testid="override">
      <OutOfService device_id={device_id} />
      <p>{t.service.override.lead}</p>
      <TextField id="override-reason" label={t.service.override.why} value={reason} onChange={onReason} max={500} spell />
    </section>
  );
}

/** Step 2: what is about to happen, and the PIN. */
export function OverridePin({ device_id, reason, onBack, onPin }: { device_id: string; reason: string; onBack: () => void; onPin: () => Promise<void> }) {
  const w = t.service.override;
  return (
    <div class="page">
      <h1>{w.title}</h1>
      <div class="two">
        <section class="sheet" data-testid="override-what">
          <OutOfService device_id={device_id} link={false} />
          <Notice calm><p><strong>{w.why}</strong>: {reason}</p></Notice>
          <Press id="override-back" onPress={onBack}>{w.back}</Press>
        </section>
        <PinForm id="override" label={w.pin} go={w.go} waiting={w.waiting} onPin={onPin}><p class="soft">{w.step}</p></PinForm>
      </div>
    </div>
  );
}

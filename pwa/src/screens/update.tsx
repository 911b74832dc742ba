import { signal } from "@preact/signals";
import { Notice, Press } from "../parts/basics";
import { openCount } from "../session/state";
import { watchUpdates } from "../sync/update";
import { t } from "../text";

const take = signal<(() => void) | null>(null);

export function watchForUpdates(): void {
  void watchUpdates({
    readyOffline: () => undefined,
    updateOffered: (now) => { take.value = now; },
  }).catch(() => undefined);
}

/** Offered between procedures, never during one. */
export function UpdateOffer() {
  if (!take.value || openCount.value > 0) return null;
  return (
    <Notice calm id="update-offer">
      <p>{t.common.newVersion}</p>
      <Press id="update-take" onPress={() => take.value?.()}>{t.common.reload}</Press>
    </Notice>
  );
}

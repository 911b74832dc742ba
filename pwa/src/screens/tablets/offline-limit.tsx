import { useSignal } from "@preact/signals";
import { newId } from "../../events/ids";
import { Notice, Press } from "../../parts/basics";
import { Choice } from "../../parts/fields";
import { house } from "../../session/house";
import { OFFLINE_DAYS_OFFERED, offlineDaysOf, setOfflineDays } from "../../session/offline-limit";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { useRegisters } from "../registers";

/** For how many days a tablet shows earlier patients without the server. */
export function OfflineLimit() {
  const chosen = useSignal<number | null>(null);
  const key = useSignal(newId());
  const done = useSignal(false);
  const here = useRegisters();
  const { place } = house.value;
  const w = t.tablets;
  if (!place) return typeof here === "string" ? <Notice shape="warn" live><p>{here}</p></Notice> : null;
  const now = offlineDaysOf(place);
  const wanted = chosen.value ?? now;
  const offered = [...new Set([...OFFLINE_DAYS_OFFERED, now])].sort((a, b) => a - b);
  const choose = (days: string) => { chosen.value = Number(days); key.value = newId(); done.value = false; };
  const use = () => void attempt(() => setOfflineDays(place, wanted, key.value)).then((said) => {
    if (!said) return;
    chosen.value = null;
    key.value = newId();
    done.value = true;
  });
  return (
    <section class="sheet" aria-label={w.offlineTitle}>
      <h2>{w.offlineTitle}</h2>
      <p class="small soft">{w.offlineLead}</p>
      <Choice id="offline-days" legend={w.offlineDays} value={String(wanted)} across onChange={choose}
        options={offered.map((days) => ({ value: String(days), text: w.days(days) }))} />
      <Press id="offline-go" disabled={busy.value || wanted === now} onPress={use}>{w.offlineGo}</Press>
      {done.value ? <Notice calm id="offline-done" live><p>{w.offlineDone(now)}</p></Notice> : null}
    </section>
  );
}

import { Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { status } from "../../session/state";
import { readOfRestore, syncNow } from "../../sync/service";
import { t } from "../../text";
import { AttentionNotice } from "../door/attention";

/** What waits to be sent, and whether there is a way to send it. */
export function SyncState() {
  const s = status.value;
  return (
    <section class="sheet" aria-label={t.today.sending} data-testid="sync-state">
      <div class="stack" aria-live="polite">
        <p class="strong" data-testid="sync-waiting">{s.waiting > 0 ? t.common.sync.waiting(s.waiting) : t.common.sync.nothingWaits}</p>
        <Mark shape={s.online ? "done" : "tablet"}>{s.online ? t.common.sync.online : t.common.sync.offline}</Mark>
        <p class="small soft">{s.last_contact ? t.common.sync.last(momentText(s.last_contact)) : t.common.sync.never}</p>
        <AttentionNotice />
        <RestoredNotice />
      </div>
      <Press id="sync-now" onPress={() => void syncNow()} disabled={s.syncing}>{s.syncing ? t.common.sync.busy : t.common.sync.now}</Press>
    </section>
  );
}

/** After the server was restored: from when, and what became of what this tablet had sent. */
export function RestoredNotice() {
  const { restored } = status.value;
  const w = t.backups.tablet;
  if (restored === null) return null;
  return (
    <Notice calm id="restored"><p>{w.restored(momentText(restored.backup_made_at))}</p>
      <p>{w.again(restored.again)}</p><p class="small">{w.others}</p>
      <Press id="restored-close" kind="quiet" onPress={() => void readOfRestore()}>{w.close}</Press></Notice>
  );
}

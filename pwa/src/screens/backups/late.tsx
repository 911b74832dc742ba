import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Notice } from "../../parts/basics";
import { may } from "../../session/rights";
import { seat } from "../../session/state";
import { askBackupAge, type BackupAge } from "../../sync/backups";
import { t } from "../../text";
import { href } from "../route";

/** Where whoever answers for the practice begins the day: there is no backup that is young enough. */
export function BackupLate() {
  const found = useSignal<BackupAge | null>(null);
  const told = may("backup.read");
  useEffect(() => {
    if (!told) return;
    const look = () => {
      // Not being reached just now is said elsewhere.
      if (document.visibilityState === "visible") void askBackupAge().then((age) => { found.value = age; }, () => undefined);
    };
    look();
    document.addEventListener("visibilitychange", look);
    return () => document.removeEventListener("visibilitychange", look);
  }, [told]);
  return told && found.value?.backup_late ? <Late age_s={found.value.backup_age_s} at_desk={seat.value === "desk"} /> : null;
}

/** The last verified backup is too old, or there is none, and where to look. */
export function Late({ age_s, at_desk }: { age_s: number | null; at_desk: boolean }) {
  const w = t.backups;
  return (
    <Notice shape="warn" id="backup-late-here">
      <p class="strong">{age_s === null ? w.never : w.lastAge(w.age(Math.floor(age_s / 3600)))}</p>
      <p>{w.late}</p>
      {at_desk ? <a class="button" href={href("practice", "backup")} data-testid="backup-late-open">{w.open}</a> : <p class="small">{w.where}</p>}
    </Notice>
  );
}

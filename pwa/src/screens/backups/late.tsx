import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { may } from "../../session/rights";
import { seat } from "../../session/state";
import { askBackupAge, type BackupAge } from "../../sync/backups";
import { Late } from "./parts";

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

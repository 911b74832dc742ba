import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Notice } from "../../parts/basics";
import { may } from "../../session/rights";
import { seat } from "../../session/state";
import { askGroupLag, type GroupLag } from "../../sync/replication";
import { t } from "../../text";
import { href } from "../route";

/** Where whoever answers for the practice begins the day: something has waited for the group too long. */
export function GroupLate() {
  const found = useSignal<GroupLag | null>(null);
  const told = may("backup.read");
  useEffect(() => {
    if (!told) return;
    const look = () => {
      // Not being reached just now is said elsewhere.
      if (document.visibilityState === "visible") void askGroupLag().then((lag) => { found.value = lag; }, () => undefined);
    };
    look();
    document.addEventListener("visibilitychange", look);
    return () => document.removeEventListener("visibilitychange", look);
  }, [told]);
  return told && found.value?.group_late ? <LateGroup waiting={found.value.group_waiting ?? 0} photographs={found.value.group_photographs_waiting ?? 0} at_desk={seat.value === "desk"} /> : null;
}

/** What is not at the group yet; what is there whole is not mentioned. */
export function Waiting({ entries, photographs }: { entries: number; photographs: number }) {
  const w = t.group;
  return (
    <>
      {entries > 0 ? <p class="strong">{w.waiting(entries)}</p> : null}
      {photographs > 0 ? <p class="strong">{w.photographs(photographs)}</p> : null}
    </>
  );
}

/** How much waits, and where to look. */
export function LateGroup({ waiting, photographs, at_desk }: { waiting: number; photographs: number; at_desk: boolean }) {
  const w = t.group;
  return (
    <Notice shape="warn" id="group-late-here">
      <Waiting entries={waiting} photographs={photographs} />
      <p>{w.late}</p>
      {at_desk ? <a class="button" href={href("practice", "group")} data-testid="group-late-open">{w.open}</a> : <p class="small">{w.where}</p>}
    </Notice>
  );
}

import { Mark } from "../../parts/basics";
import { dateText } from "../../parts/dates";
import type { ListedTablet } from "../../sync/tablets";
import { t } from "../../text";

/** What is to be known of a tablet at a glance, each in words. */
export function States({ tablet }: { tablet: ListedTablet }) {
  const w = t.tablets;
  return (
    <span class="row">
      {tablet.revoked_at ? <Mark shape="lock">{w.revoked(dateText(tablet.revoked_at))}</Mark> : null}
      {tablet.forked_at && !tablet.revoked_at ? <Mark shape="warn">{w.forked}</Mark> : null}
      {tablet.unconfirmed && !tablet.revoked_at ? <Mark shape="warn">{w.unconfirmed}</Mark> : null}
      {tablet.waiting ? <Mark shape="tablet">{w.waiting(tablet.waiting)}</Mark> : null}
      {tablet.quarantined > 0 ? <Mark shape="wait">{w.aside(tablet.quarantined)}</Mark> : null}
    </span>
  );
}

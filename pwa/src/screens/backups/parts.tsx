/** What is shown of backups, told all that it needs: nothing here asks anybody. */
import { Mark, Notice } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import type { Backups as Known } from "../../sync/backups";
import { t } from "../../text";
import { href } from "../route";

/** The last backup that was found to hold, how old it is, and what is not inside it yet. */
export function Last({ known }: { known: Known }) {
  const w = t.backups;
  const { last_verified, age_s } = known;
  const words = last_verified === null || age_s === null ? w.never : w.last(momentText(last_verified), w.age(Math.floor(age_s / 3600)));
  return (
    <section class="sheet" aria-label={w.lastTitle} data-testid="backup-last">
      <h2>{w.lastTitle}</h2>
      {known.late
        ? <Notice shape="warn" id="backup-late"><p class="strong">{words}</p><p>{w.late}</p></Notice>
        : <Mark shape="done">{words}</Mark>}
      <p class="small">{w.outside(known.outside)}</p>
    </section>
  );
}

/** The last restore: who, why, from when, and what each tablet has handed in again since. */
export function Restored({ restored }: { restored: NonNullable<Known["restored"]> }) {
  const w = t.backups;
  return (
    <section class="sheet" aria-label={w.restoredTitle} data-testid="backup-restored">
      <h2>{w.restoredTitle}</h2>
      <p>{w.restored(momentText(restored.at), momentText(restored.backup_made_at))}</p>
      <p class="small">{w.restoredBy(restored.who, restored.why)}</p>
      {restored.returning.length === 0 ? <p class="small">{w.nothingNamed}</p> : (
        <ul class="list" data-testid="returning">{restored.returning.map((one) => (
          <li class="item" key={one.tablet_id}><span class="grow">
            <span class="strong">{one.label ?? one.tablet_id}</span>
            <Mark shape={one.came < one.named ? "wait" : "done"}>{w.came(one.came, one.named)}</Mark></span></li>))}</ul>
      )}
      <p class="small">{w.lookAgain}</p>
    </section>
  );
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

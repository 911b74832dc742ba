import { Glyph, Press } from "../../parts/basics";
import { dateText, timeText } from "../../parts/dates";
import type { Access } from "../../sync/access-log";
import { t } from "../../text";

/** One access: what was done to what, by whom, where and when. */
export function Line({ access, onRecord }: { access: Access; onRecord: (record_id: string) => void }) {
  const w = t.accessLog;
  const { action, subject_kind, subject_id, subject_name, detail } = access;
  const what = subject_kind === null ? null : w.kinds[subject_kind] ?? subject_kind;
  const which = subject_name ?? (subject_id === null ? null : w.id(subject_id.slice(-8)));
  const moment = `${dateText(access.at)}, ${timeText(access.at)}:${access.at.slice(17, 19)}`;
  return (
    <li class="item wraps" data-testid="access">
      <Glyph shape={action === "refused" ? "stop" : action === "read" || action === "list" ? "note" : "done"} />
      <span class="grow">
        <span class="strong">{w.actions[action] ?? action}{what ? `: ${what}` : ""}{which ? ` ${which}` : ""}</span>
        <span class="small">{access.actor_name ?? (access.actor_id ? w.id(access.actor_id.slice(-8)) : w.nobody)}, {access.tablet_id ? access.tablet_label ?? w.id(access.tablet_id.slice(-8)) : w.atDesk}</span>
        <span class="small soft">{moment}{detail ? `. ${inWords(detail)}` : ""}</span>
      </span>
      {subject_kind === "record" && subject_id ? <Press id="access-record" kind="quiet" label={w.recordOnlyFor(which ?? "")} onPress={() => onRecord(subject_id)}>{w.recordOnly}</Press> : null}
    </li>
  );
}

/** Details as they stand, with the words for the names that there are. */
function inWords(detail: Record<string, unknown>): string {
  const names: Readonly<Record<string, string>> = t.accessLog.details;
  return Object.entries(detail).filter(([, value]) => value !== null && value !== "")
    .map(([name, value]) => `${names[name] ?? name}: ${said(value)}`).join("; ");
}

function said(value: unknown): string {
  if (typeof value === "string") return (t.accessLog.entries as Readonly<Record<string, string>>)[value] ?? value;
  if (value === true) return t.common.yes;
  if (value === false) return t.common.no;
  if (Array.isArray(value)) return value.map(said).join(", ");
  return typeof value === "object" ? JSON.stringify(value) : String(value);
}

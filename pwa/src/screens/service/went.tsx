/** Cases that were begun on a laser out of service: what the safety officer is told. */
import { Mark } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import type { RecordDocument } from "../../session/fold";
import { may } from "../../session/rights";
import { allRecords } from "../../session/state";
import { startedMs } from "../../session/written";
import { t } from "../../text";
import { href } from "../route";

/** How long a case is told of without being looked for [days]; this project's own choice. */
const DAYS = 30;
const MS_PER_DAY = 86_400_000;
const CODES: ReadonlySet<string> = new Set(["out_of_service_overridden", "out_of_service_not_overridden", "out_of_service_not_known",
  "out_of_service_meanwhile", "out_of_service_meanwhile_not_known"]);

/** What the server flagged, and what it cannot have flagged yet. */
export const wentOn = (record: RecordDocument): boolean =>
  (record.overrides?.length ?? 0) > 0 || record.flags.some(({ code }) => CODES.has(code));

/** Of one laser or of all; nothing where there is none, or where records may not be read. */
export function WentOn({ device_id = null }: { device_id?: string | null }) {
  if (!may("record.read")) return null;
  const from_ms = Date.now() - DAYS * MS_PER_DAY;
  const found = allRecords.value.filter((one) =>
    (device_id === null || one.device?.device_id === device_id) && startedMs(one) >= from_ms && wentOn(one));
  if (found.length === 0) return null;
  const w = t.service;
  return (
    <section class="stack" data-testid="went-on">
      <h2>{w.went.title}</h2>
      <ul class="list">{found.map((one) => {
        const code = one.flags.find((flag) => CODES.has(flag.code))?.code.replace("out_of_service_", "") ?? "overridden";
        return (
          <li key={one.record_id}><a class="item" href={href("records", one.record_id)} data-testid="went-on-case">
            <span class="grow"><span class="strong">{one.patient?.chart_number} {one.patient?.second_identifier}</span>
              <span class="small">{momentText(one.started_at ?? "")} · {one.device?.label}</span>
              <Mark shape="stop">{w.exposed.status[(one.overrides?.length ?? 0) > 0 ? "overridden" : code]}</Mark>
              {(one.overrides ?? []).map((each) => <span key={each.event_id} class="small">{each.reason}</span>)}</span></a></li>
        );
      })}</ul>
    </section>
  );
}

import { Glyph, Mark, type Shape } from "../../parts/basics";
import { timeText } from "../../parts/dates";
import { isDeviceKind } from "../../session/check-verdict";
import { todaysCheck } from "../../session/device-checks";
import { glanceAt, morePressing, trendsAreLoud, type Need } from "../../session/glance";
import { house } from "../../session/house";
import { deviceChecks } from "../../session/house_checks";
import { houseZone, listFor } from "../../session/house_lists";
import { serviceOf } from "../../session/house_service";
import { cutTrend, trendsInUse } from "../../session/optics";
import { dueNow } from "../../session/registers";
import { may } from "../../session/rights";
import type { Device } from "../../session/types";
import { t } from "../../text";
import { failedText, initials } from "../checks/words";
import { dueText } from "../register/due-lines";
import { href } from "../route";
import { causeText, OutMark } from "../service/mark";
import { TrendAlarms } from "../trend/alarms";

/** Each laser with what it needs today, one touch from doing it; a single line where nothing is needed. */
export function Glance() {
  const { devices } = house.value;
  const now = Date.now();
  const asked = listFor("start_of_day", now) !== null;
  const due = dueNow(now);
  const seen = devices.map((device) => ({ device, ...glanceOf(device, asked, due, now) }));
  const needy = seen.filter(({ needs }) => needs.length > 0).sort(morePressing);
  const well = seen.filter(({ needs }) => needs.length === 0);
  if (devices.length === 0) return null;
  return (
    <section class="stack" aria-label={t.checks.glance.title} data-testid="glance">
      {needy.length > 0 ? (
        <>
          <ul class="list">{needy.map(({ device, needs }) => <Line key={device.device_id} device={device} needs={needs} />)}</ul>
          {well.map(({ device }) => <Passed key={device.device_id} device={device} />)}
        </>
      ) : asked ? <Mark shape="done" id="glance-well">{t.checks.glance.allWell(devices.length)}</Mark>
        : may("list.write") ? <a class="small" href={href("practice", "lists")} data-testid="glance-unwritten">{t.checks.glance.nothingAsked}</a> : null}
    </section>
  );
}

const passedToday = (device_id: string) => {
  const today = todaysCheck(deviceChecks.value, device_id, "start_of_day", Date.now(), houseZone());
  return today?.verdict === "passed" ? t.checks.glance.today(timeText(today.done_at), initials(today.checked_by)) : null;
};

/** A laser that needs nothing, beside those that do: that it has passed. */
function Passed({ device: { device_id, label } }: { device: Device }) {
  const said = passedToday(device_id);
  return said ? <Mark shape="done" id="glance-passed">{label}: {said}</Mark> : null;
}

const alarmOf = (device_id: string): boolean =>
  trendsAreLoud(trendsInUse(device_id).map(({ trend }) => trend), cutTrend(device_id)?.trend ?? null);

const glanceOf = (device: Device, asked: boolean, due: ReturnType<typeof dueNow>, now: number) => glanceAt({
  device_id: device.device_id, checks: deviceChecks.value, asked, due, out: serviceOf(device.device_id).causes.map(({ event_id }) => event_id), alarm: alarmOf(device.device_id),
}, now, houseZone());

/** One touch does what is most pressing; what comes after it is said in a line. */
function Line({ device, needs: [first, ...rest] }: { device: Device; needs: readonly Need[] }) {
  if (!first) return null;
  const { shape, text, to } = said(device, first);
  const makes = to[0] === "check";
  const passed = first.kind === "due" || first.kind === "trend" ? passedToday(device.device_id) : null;
  return (
    <li><a class="item wraps" href={href(...to)} data-testid={`need-${first.kind === "due" ? first.row.what : first.kind}`}>
      <span class="grow"><span class="strong">{device.label}</span>{first.kind === "trend" ? <TrendAlarms device_id={device.device_id} /> : <Mark shape={shape}>{text}</Mark>}
        {passed ? <Mark shape="done" id="need-passed">{passed}</Mark> : null}
        {rest.length > 0 ? <span class="small soft" data-testid="need-more">{t.checks.glance.also(rest.map((need) => (need.kind === "due" ? t.registers.due.what[need.row.what] ?? need.row.what : said(device, need).text)).join(", "))}</span> : null}</span>
      <span class="row small">{makes ? t.checks.glance.doIt : t.checks.glance.see}<Glyph shape="turn" /></span></a></li>
  );
}

function said({ device_id }: Device, need: Need): { shape: Shape; text: string; to: [string, ...string[]] } {
  const w = t.checks.glance;
  const make = (kind: string): [string, ...string[]] => (may("verification.write") ? ["check", device_id, kind] : ["practice", "checks", device_id]);
  if (need.kind === "out") {
    const causes = serviceOf(device_id).causes.map(causeText);
    return { shape: "stop", text: `${t.service.out}: ${causes.join(" ")}`, to: ["practice", "service", device_id] };
  }
  if (need.kind === "failed") return { shape: "stop", text: w.failed(t.checks.kinds[need.check.kind] ?? "", failedText(need.check)), to: ["practice", "checks", device_id] };
  if (need.kind === "trend") return { shape: "warn", text: t.trend.title, to: ["practice", "trend", device_id] };
  if (need.kind === "not_made") return { shape: "wait", text: w.notMade, to: make("start_of_day") };
  const { what, state } = need.row;
  return { shape: state === "overdue" ? "warn" : "wait", text: dueText(need.row), to: isDeviceKind(what) ? make(what) : ["practice", "power", device_id] };
}

/** The check of today beside the power checks of a laser; of one that is out of service, that it is. */
export function TodaysMark({ device: { device_id } }: { device: Device }) {
  if (!serviceOf(device_id).in_service) return <OutMark device_id={device_id} id="laser-out" />;
  const passed = passedToday(device_id);
  return passed ? <Mark shape="done" id="laser-today">{passed}</Mark> : null;
}

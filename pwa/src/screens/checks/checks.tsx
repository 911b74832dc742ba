import { Glyph, Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { isDeviceKind, type DeviceKind } from "../../session/check-verdict";
import { checksOfDevice, failing, todaysCheck, type DeviceCheck } from "../../session/device-checks";
import { house } from "../../session/house";
import { deviceChecks } from "../../session/house_checks";
import { houseZone, listFor } from "../../session/house_lists";
import { may } from "../../session/rights";
import { writing } from "../../session/state";
import type { Device } from "../../session/types";
import { t } from "../../text";
import { Scan } from "../register/scan";
import { useRegisters } from "../registers";
import { go, href } from "../route";
import { OutMark } from "../service/mark";
import { AnswerCheck } from "./answer";
import { begunDraft } from "./begun";
import { FailedNotice } from "./failed";
import { History } from "./read";
import { initials } from "./words";

/** As often as they are needed. */
const AS_NEEDED = ["start_of_day", "end_of_day", "weekly", "monthly", "yearly", "after_move", "commissioning"] as const satisfies readonly DeviceKind[];

/** Checks of the lasers by their lists: all lasers, or one with all its checks. */
export function Checks({ device_id }: { device_id: string | null }) {
  const ready = useRegisters();
  if (ready !== true) return <Waiting ready={ready} />;
  const device = house.value.devices.find((one) => one.device_id === device_id) ?? null;
  return device ? <OfLaser device={device} /> : <Overview />;
}

/** Making one check of one laser. */
export function MakeCheck({ device_id, kind }: { device_id: string; kind: string }) {
  const ready = useRegisters();
  if (ready !== true) return <Waiting ready={ready} />;
  const device = house.value.devices.find((one) => one.device_id === device_id) ?? null;
  if (!device || !isDeviceKind(kind) || !may("verification.write")) return device ? <OfLaser device={device} /> : <Overview />;
  return <AnswerCheck key={`${device_id}:${kind}`} device={device} kind={kind} />;
}

const Waiting = ({ ready }: { ready: string | null }) =>
  <div class="page">{ready ? <Notice shape="warn" live><p>{ready}</p></Notice> : <p role="status">{t.common.loading}</p>}</div>;

function Overview() {
  return (
    <div class="page">
      <h1>{t.checks.title}</h1>
      <p class="soft">{t.checks.lead}</p>
      {house.value.devices.length === 0 ? <p class="soft">{t.today.noLasers}</p> : null}
      <ul class="list">{house.value.devices.map((device) => (
        <li key={device.device_id}><a class="item" href={href("practice", "checks", device.device_id)} data-testid="checks-laser">
          <span class="grow"><span class="strong">{device.label}</span><Last kind="start_of_day" device={device} /><OutMark device_id={device.device_id} /></span>
          <Glyph shape="turn" /></a></li>
      ))}</ul>
      {house.value.devices.length > 0 ? <Scan id="checks-scan" kind="device" onFound={(id) => { if (house.value.devices.some((one) => one.device_id === id)) go("practice", "checks", id); }} /> : null}
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}

function OfLaser({ device }: { device: Device }) {
  const mine = checksOfDevice(deviceChecks.value, device.device_id);
  return (
    <div class="page">
      <h1>{t.checks.of(device.label)}</h1>
      <OutMark device_id={device.device_id} />
      {failing(deviceChecks.value, device.device_id).map((check) => <FailedNotice key={check.event_id} check={check} />)}
      <div class="two">
        <ul class="list">{AS_NEEDED.map((kind) => <Kind key={kind} kind={kind} device={device} />)}</ul>
        <History checks={mine} />
      </div>
      <a class="button quiet" href={href("practice", "checks")} data-testid="checks-all">{t.checks.all}</a>
    </div>
  );
}

function Kind({ kind, device }: { kind: DeviceKind; device: Device }) {
  const asked = listFor(kind, Date.now());
  const begun = begunDraft(device.device_id, kind).value.value;
  const writer = may("verification.write");
  return (
    <li class="sheet" data-testid={`check-${kind}`}>
      <h2>{t.checks.kinds[kind]}</h2>
      {asked || begun ? <Last kind={kind} device={device} /> : <p class="small soft">{t.checks.noList}</p>}
      {begun ? <Mark shape="wait">{t.checks.begun(Object.keys(begun.answers).length, begun.version.items.length)}</Mark> : null}
      {(asked || begun) && writer
        ? <Press id={`check-make-${kind}`} large kind={kind === "start_of_day" ? "main" : "plain"} disabled={!writing.value} label={begun ? undefined : t.checks.makeOf(t.checks.kinds[kind] ?? kind, device.label)}
            onPress={() => go("check", device.device_id, kind)}>{begun ? t.checks.goOn : t.checks.make}</Press> : null}
    </li>
  );
}

/** The last check of a kind; of the start of a day, the one of today. */
function Last({ kind, device }: { kind: DeviceKind; device: Device }) {
  const daily = kind === "start_of_day";
  const check: DeviceCheck | null = daily
    ? todaysCheck(deviceChecks.value, device.device_id, kind, Date.now(), houseZone())
    : checksOfDevice(deviceChecks.value, device.device_id, kind)[0] ?? null;
  if (!check) return <Mark shape="wait" id={`check-last-${kind}`}>{daily ? t.checks.notToday : t.checks.notMade}</Mark>;
  const passed = check.verdict === "passed";
  return (
    <Mark shape={passed ? "done" : "stop"} id={`check-last-${kind}`}>
      {(passed ? t.checks.passedAt : t.checks.failedAt)(momentText(check.done_at), initials(check.checked_by))}</Mark>
  );
}

import { Glyph, Mark, Notice, Press } from "../../parts/basics";
import { ageText, dateText, momentText } from "../../parts/dates";
import { More } from "../../parts/dose";
import { quantityText } from "../../parts/quantity";
import { checkGroups, checksOf } from "../../session/checks";
import { house, personName } from "../../session/house";
import { may } from "../../session/rights";
import { writing } from "../../session/state";
import type { Device, Settings, Verification } from "../../session/types";
import { t } from "../../text";
import { percent, settingsText } from "../facts";
import { useRegisters } from "../registers";
import { go, href } from "../route";
import { Scan } from "../register/scan";
import { OutMark, OutOfService } from "../service/mark";
import { VerdictMark } from "../verdict";
import { RecordCheck } from "./record";

/** Power checks: all lasers, one with all its checks, or recording one. */
export function PowerChecks({ device_id, mode }: { device_id: string | null; mode: string | null }) {
  const ready = useRegisters();
  if (ready !== true) return <div class="page">{ready ? <Notice shape="warn" live><p>{ready}</p></Notice> : <p role="status">{t.common.loading}</p>}</div>;
  const device = house.value.devices.find((one) => one.device_id === device_id) ?? null;
  if (!device) return <Overview />;
  return mode === "new" && may("verification.write") ? <RecordCheck key={device.device_id} device={device} /> : <OfLaser device={device} />;
}

const tipName = (handpiece_id: string): string => house.value.handpieces.find((one) => one.handpiece_id === handpiece_id)?.label ?? "";
const emissionOf = (check: Verification): string => `${tipName(check.handpiece_id)}, ${t.today.forMode(t.plan.modes[check.mode] ?? check.mode)}`;

function Overview() {
  return (
    <div class="page">
      <h1>{t.power.title}</h1>
      <p class="soft">{t.power.lead}</p>
      {house.value.devices.length === 0 ? <p class="soft">{t.today.noLasers}</p> : null}
      <ul class="list">{house.value.devices.map((device) => (
        <li key={device.device_id}><a class="item" href={href("practice", "power", device.device_id)} data-testid="power-laser">
          <span class="grow"><span class="strong">{device.label}</span>
            <OutMark device_id={device.device_id} />
            {checksOf(device.device_id).map((check) => (
              <span key={check.verification_id} class="small">{emissionOf(check)}: {percent(check.ratio)} <VerdictMark verdict={check.verdict} /></span>
            ))}
            {checksOf(device.device_id).length === 0 ? <Mark shape="warn">{t.today.notVerified}</Mark> : null}</span>
          <Glyph shape="turn" /></a></li>
      ))}</ul>
      {house.value.devices.length > 0 ? <Scan id="power-scan" kind="device" onFound={(id) => { if (house.value.devices.some((one) => one.device_id === id)) go("practice", "power", id); }} /> : null}
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}

function OfLaser({ device }: { device: Device }) {
  const groups = checkGroups(device.device_id);
  return (
    <div class="page">
      <h1>{t.power.of(device.label)}</h1>
      <OutOfService device_id={device.device_id} />
      <p class="soft">{t.power.lead}</p>
      {may("verification.write")
        ? <Press id="power-new" kind="main" large disabled={!writing.value} onPress={() => go("practice", "power", device.device_id, "new")}>{t.power.record}</Press> : null}
      <a class="button" href={href("practice", "trend", device.device_id)} data-testid="power-trend">{t.trend.title}</a>
      {groups.length === 0 ? <Mark shape="warn">{t.today.notVerified}</Mark> : null}
      {groups.map((group) => <Group key={group[0]!.verification_id} group={group} />)}
      <p class="small soft">{t.today.doNotRaise}</p>
      <a class="button quiet" href={href("practice", "power")}>{t.power.title}</a>
    </div>
  );
}

/** All checks of one tip with one emission, the newest first. */
function Group({ group }: { group: readonly Verification[] }) {
  return (
    <section class="stack" data-testid="power-group">
      <h2>{emissionOf(group[0]!)}</h2>
      <ul class="list">{group.map((check, n) => (
        <li key={check.verification_id} class="sheet" data-testid="power-check">
          <p><VerdictMark verdict={check.verdict} /> <strong class="num">{percent(check.ratio)}</strong></p>
          <p class="small">{t.today.checked(dateText(check.verified_at), ageText(check.verified_at, Date.now()))}{personName(check.verified_by) ? `, ${personName(check.verified_by)}` : ""}</p>
          {n === 0 ? <p class="small">{check.verdict === "fail" ? t.today.failedCheck : t.power.feeds}</p> : null}
          <More id={`power-more-${check.verification_id}`} title={t.power.details}><Details check={check} /></More>
        </li>
      ))}</ul>
    </section>
  );
}

function Details({ check: { said, verified_at } }: { check: Verification }) {
  const w = t.power;
  return (
    <dl class="facts">
      <dt>{w.when}</dt><dd>{momentText(verified_at)}</dd>
      <dt>{w.meter}</dt><dd>{said.meter.label}, {said.meter.serial}, {w.calibratedOn(dateText(said.meter.calibrated_on))}, {w.uncertainty2(percent(said.meter_uncertainty))}</dd>
      {said.readings.map(({ settings, expected_average_power, measured }, n) => [
        <dt key={n}>{settingsText(settings as Settings)}</dt>,
        <dd key={`${n}-shown`} class="num">{w.expected(quantityText(expected_average_power))} {w.shown(measured.map(quantityText).join(", "))}</dd>,
      ])}
      {said.note ? <><dt>{w.note}</dt><dd>{said.note}</dd></> : null}
    </dl>
  );
}

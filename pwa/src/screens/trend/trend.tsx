import { Glyph, Mark, Notice, Press } from "../../parts/basics";
import { dateText, momentText } from "../../parts/dates";
import { More } from "../../parts/dose";
import { quantityText } from "../../parts/quantity";
import { house, personName } from "../../session/house";
import { type Cleaning, cleaningsOf, cutReferenceOf, cutTrend, powerTrends, restartsHere, type TestCut } from "../../session/optics";
import { may } from "../../session/rights";
import { writing } from "../../session/state";
import type { Device, Settings, Verification } from "../../session/types";
import { t } from "../../text";
import { settingsText } from "../facts";
import { useRegisters } from "../registers";
import { go, href } from "../route";
import { VerdictMark } from "../verdict";
import { Series } from "./chart";
import { NoteCleaning } from "./cleaning";
import { RecordCut } from "./cut";
import { nameOf, tipName } from "./names";
import { RecordSetUp } from "./set-up";
import { meaningSentences } from "./words";

/** Trends: all lasers, one with its charts, or recording what belongs to them. */
export function Trends({ device_id, mode }: { device_id: string | null; mode: string | null }) {
  const ready = useRegisters();
  if (ready !== true) return <div class="page">{ready ? <Notice shape="warn" live><p>{ready}</p></Notice> : <p role="status">{t.common.loading}</p>}</div>;
  const device = house.value.devices.find((one) => one.device_id === device_id) ?? null;
  if (!device) return <Overview />;
  if (may("verification.write")) {
    if (mode === "clean") return <NoteCleaning key={device.device_id} device={device} />;
    if (mode === "set-up") return <RecordSetUp key={device.device_id} device={device} />;
    const reference = cutReferenceOf(device.device_id);
    if (mode === "cut" && reference) return <RecordCut key={reference.test_cut_reference_id} device={device} reference={reference} />;
  }
  return <OfLaser device={device} />;
}

function Overview() {
  return (
    <div class="page">
      <h1>{t.trend.title}</h1>
      <p class="soft">{t.trend.lead}</p>
      {house.value.devices.length === 0 ? <p class="soft">{t.today.noLasers}</p> : null}
      <ul class="list">{house.value.devices.map((device) => (
        <li key={device.device_id}><a class="item" href={href("practice", "trend", device.device_id)} data-testid="trend-laser">
          <span class="grow"><span class="strong">{device.label}</span>
            {powerTrends(device.device_id).map((one) => <span key={one.key} class="small">{nameOf(one)}: {meaningSentences(one.trend, "power", restartsHere(device.device_id))[0]}</span>)}
            {powerTrends(device.device_id).length === 0 ? <span class="small">{t.trend.noChecks}</span> : null}</span>
          <Glyph shape="turn" /></a></li>
      ))}</ul>
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}

function OfLaser({ device }: { device: Device }) {
  const w = t.trend;
  const trends = powerTrends(device.device_id);
  const writes = may("verification.write");
  return (
    <div class="page">
      <h1>{w.of(device.label)}</h1>
      <p class="soft no-print">{w.lead}</p>
      {writes ? (
        <div class="row no-print">
          {cutReferenceOf(device.device_id) ? <Press id="trend-cut" kind="main" disabled={!writing.value} onPress={() => go("practice", "trend", device.device_id, "cut")}>{w.cutOffer}</Press> : null}
          <Press id="trend-clean" disabled={!writing.value} onPress={() => go("practice", "trend", device.device_id, "clean")}>{w.cleanOffer}</Press>
          <Press id="trend-print" kind="quiet" onPress={() => window.print()}>{w.print}</Press>
        </div>
      ) : null}
      {trends.length === 0 ? <Mark shape="warn">{w.noChecks}</Mark> : null}
      {trends.map((one, n) => (
        <Series key={one.key} id={`trend-${n}`} device_id={device.device_id} title={nameOf(one)} trend={one.trend} of="power"
          detail={(id) => <Readings check={one.list.find(({ verification_id }) => verification_id === id)} />} />
      ))}
      <Cuts device={device} />
      <Done device={device} />
      <div class="no-print"><More id="trend-how" title={w.how}><p class="small">{w.howText}</p></More></div>
      <div class="row no-print">
        <a class="button quiet" href={href("practice", "power", device.device_id)}>{t.power.of(device.label)}</a>
        <a class="button quiet" href={href("practice", "trend")}>{w.title}</a>
      </div>
    </div>
  );
}

function Cuts({ device }: { device: Device }) {
  const w = t.trend;
  const found = cutTrend(device.device_id);
  const setUp = may("verification.write")
    ? <div class="no-print"><Press id="trend-set-up" kind="quiet" disabled={!writing.value} onPress={() => go("practice", "trend", device.device_id, "set-up")}>{found ? w.setUpAgain : w.setUpOffer}</Press></div> : null;
  if (!found) return <section class="sheet stack" aria-label={w.cuts} data-testid="trend-cuts"><h2>{w.cuts}</h2><p>{w.noSetUp}</p><p class="small soft">{w.neverWatts}</p>{setUp}</section>;
  const { reference, cuts, trend } = found;
  return (
    <Series key={reference.test_cut_reference_id} id="trend-cuts" device_id={device.device_id} title={w.cuts} trend={trend} of="cuts"
      detail={(id) => <Depths cut={cuts.find(({ test_cut_id }) => test_cut_id === id)} />}>
      <p class="small soft">{w.neverWatts}</p>
      <More id="trend-set-up-details" title={w.details}>
        <dl class="facts">
          <dt>{settingsText(reference.settings as Settings)}</dt><dd>{tipName(reference.handpiece_id)}, {w.meansOf(quantityText(reference.expected_average_power))}</dd>
          <dt>{w.spot}</dt><dd>{quantityText(reference.spot_diameter)}</dd>
          <dt>{w.distance}</dt><dd>{quantityText(reference.distance)}</dd>
          <dt>{w.stack}</dt><dd>{reference.stack}; {reference.wetness}</dd>
          <dt>{w.length}</dt><dd>{quantityText(reference.cut_length)}, {quantityText(reference.cut_time)}</dd>
          {reference.note ? <><dt>{w.note}</dt><dd>{reference.note}</dd></> : null}
        </dl>
      </More>
      {setUp}
    </Series>
  );
}

/** The readings behind one power check. */
function Readings({ check }: { check: Verification | undefined }) {
  if (!check) return null;
  const w = t.power;
  const { said } = check;
  return (
    <div class="stack">
      <p><VerdictMark verdict={check.verdict} /></p>
      <dl class="facts">
        <dt>{w.when}</dt><dd>{momentText(check.verified_at)}{personName(check.verified_by) ? `, ${personName(check.verified_by)}` : ""}</dd>
        <dt>{w.meter}</dt><dd>{said.meter.label}, {said.meter.serial}, {w.calibratedOn(dateText(said.meter.calibrated_on))}</dd>
        {said.readings.map(({ settings, expected_average_power, measured }, n) => [
          <dt key={n}>{settingsText(settings as Settings)}</dt>,
          <dd key={`${n}-shown`} class="num">{w.expected(quantityText(expected_average_power))} {w.shown(measured.map(quantityText).join(", "))}</dd>,
        ])}
        {said.note ? <><dt>{w.note}</dt><dd>{said.note}</dd></> : null}
      </dl>
    </div>
  );
}

function Depths({ cut }: { cut: TestCut | undefined }) {
  if (!cut) return null;
  const w = t.trend;
  return (
    <dl class="facts">
      <dt>{w.depths}</dt><dd class="num">{cut.depths.map(quantityText).join(", ")}</dd>
      <dt>{w.length}</dt><dd>{quantityText(cut.cut_length)}, {quantityText(cut.cut_time)}</dd>
      {cut.aiming_beam ? <><dt>{w.aiming}</dt><dd>{w.aimingKinds[cut.aiming_beam]}</dd></> : null}
      {personName(cut.done_by) ? <><dt>{t.power.when}</dt><dd>{momentText(cut.done_at)}, {personName(cut.done_by)}</dd></> : null}
      {cut.note ? <><dt>{w.note}</dt><dd>{cut.note}</dd></> : null}
    </dl>
  );
}

/** Restarts and cleanings in words, the newest first: the drawing marks them only where checks stand around them. */
function Done({ device }: { device: Device }) {
  const w = t.trend;
  const all = [
    ...restartsHere(device.device_id).map(({ id, at }) => ({ id, at, text: w.restarted(dateText(at)), note: null as string | null })),
    ...cleaningsOf(device.device_id).map((one: Cleaning) => ({
      id: one.cleaning_id, at: one.done_at, note: one.note,
      text: w.cleaned(dateText(one.done_at), [w.whatOptics[one.what], one.handpiece_id ? tipName(one.handpiece_id) : ""].filter(Boolean).join(", "), personName(one.done_by) ?? ""),
    })),
  ].sort((a, b) => Date.parse(b.at) - Date.parse(a.at));
  if (all.length === 0) return null;
  return (
    <section class="sheet" aria-label={w.happened} data-testid="trend-done">
      <h2>{w.happened}</h2>
      <ul class="list">{all.map(({ id, text, note }) => <li key={id}>{text}{note ? <span class="small soft"> {note}</span> : null}</li>)}</ul>
    </section>
  );
}

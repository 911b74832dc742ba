/** Every part in every state it can be in; `?es` shows it in Spanish. The dose is the engine's own. */
import "../../src/styles/tokens.css";
import "../../src/styles/base.css";
import "../../src/styles/controls.css";
import "../../src/styles/work.css";
import type { ComponentChildren } from "preact";
import { render } from "preact";
import { respond } from "../../src/dose/evaluate";
import { EmergencyAlarm } from "../../src/parts/alarm";
import { Glyph, Key, Mark, Notice, Press, type Shape } from "../../src/parts/basics";
import { momentText } from "../../src/parts/dates";
import { DosePanel, type DosePanelProps, Inputs, More } from "../../src/parts/dose";
import { PulseDrawing } from "../../src/parts/drawings/pulses";
import { CheckDrawing } from "../../src/parts/drawings/check-pictures";
import { CutDrawing } from "../../src/parts/drawings/cut";
import { SpotDrawing } from "../../src/parts/drawings/spot";
import { TrendDrawing, TrendKey } from "../../src/parts/drawings/trend";
import type { TrendDot, TrendSeries } from "../../src/parts/drawings/trend-shapes";
import { Choice, Select, TextField, Tick } from "../../src/parts/fields";
import { PinPad } from "../../src/parts/keypad";
import { Provenance } from "../../src/parts/provenance";
import { openKeys } from "../../src/parts/numpad";
import { QuantityField } from "../../src/parts/quantity";
import { Tapped } from "../../src/parts/tapped";
import { FirstAid } from "../../src/screens/upkeep/first-aid";
import { IncidentMark } from "../../src/screens/upkeep/mark";
import type { Incident } from "../../src/session/upkeep";
import { allWords, language, showLanguage, t } from "../../src/text";
import { ExposedStates, OutOfServiceStates, Witnessed } from "./service";
import { Erasing, Offered, ToldOfBackups, ToldOfTheGroup } from "./told";

const nothing = () => undefined;
const SHAPES: Shape[] = ["done", "wait", "warn", "stop", "on", "off", "turn", "note", "lock", "cloud", "tablet"];
const OPTIONS = () => Object.entries(t.plan.modes).map(([value, text]) => ({ value, text, under: t.plan.modeHints[value] }));
const PULSED = { mode: "pulsed", power: "3 W", power_kind: "average", pulse_duration: "250 us", repetition_rate: "120 Hz" };
const SPOT = { diameter: "0.25 mm", diameter_definition: "1/e2" };
const dose = (request: object) => respond({ wavelength: "10.6 um", spot: SPOT, ...request } as never) as unknown as DosePanelProps["response"];
const facts = () => ({ power: { name: t.plan.power, value: "3 W", origin: t.dose.origin["panel"]!, status: t.dose.status["stated"]! } });

function State({ name, children }: { name: string; children: ComponentChildren }) {
  return <section class="sheet" aria-label={name}><h2>{name}</h2>{children}</section>;
}

function TappedLines() {
  return (
    <State name="Tapped">
      <Tapped id="tapped-under" label={t.course.protection.masks} value="" known={Object.values(t.course.protection.usualMasks)} onChange={nothing} />
      <Tapped id="tapped-beside" label={t.case.sutures} value={t.case.usualOutcome["sutures"]![0]!} known={t.case.usualOutcome["sutures"]!} beside onChange={nothing} />
    </State>
  );
}

function Buttons() {
  const kinds = ["main", "plain", "quiet"] as const;
  return (
    <State name="Press, Key">
      {kinds.map((kind) => (
        <div class="row" key={kind}>
          <Press id={`${kind}-as-is`} kind={kind} onPress={nothing}>{t.common.save}</Press>
          <Press id={`${kind}-off`} kind={kind} disabled onPress={nothing}>{t.common.save}</Press>
          <Press id={`${kind}-pressed`} kind={kind} pressed onPress={nothing}>{t.common.yes}</Press>
          <Press id={`${kind}-large`} kind={kind} large onPress={nothing}>{t.case.stop}</Press>
        </div>
      ))}
      <Press id="wide" kind="main" large wide onPress={nothing}><Glyph shape="on" />{t.case.start}</Press>
      <div class="keypad"><Key id="digit" onPress={nothing}>1</Key><Key id="word" word onPress={nothing}>{t.common.close}</Key></div>
    </State>
  );
}

function Words() {
  return (
    <State name="Glyph, Mark, Notice, EmergencyAlarm, More">
      <div class="row">{SHAPES.map((shape) => <Mark key={shape} shape={shape}>{t.common.saved.tablet}</Mark>)}</div>
      <Notice shape="warn" id="notice"><strong>{t.common.startFailed}</strong><p>{t.common.startFailedMore}</p></Notice>
      <Notice calm id="notice-calm"><p>{t.common.newVersion}</p></Notice>
      <Notice shape="done" live id="notice-live"><p>{t.records.addendumSaved}</p></Notice>
      <EmergencyAlarm who="E. Ample" when={momentText("2026-03-02T09:05:00.000+00:00")} recorded={false} reason={t.records.addendumSaved} busy={false} onSeen={nothing} />
      <EmergencyAlarm who="E. Ample" when={momentText("2026-03-02T09:05:00.000+00:00")} recorded reason={t.records.addendumSaved} busy onSeen={nothing} />
      <More id="more-shut" title={t.dose.more}><p>{t.dose.nothing}</p></More>
      <More id="more-open" title={t.dose.more} open><p>{t.dose.nothing}</p></More>
    </State>
  );
}

function Fields() {
  const field = { onChange: nothing, label: t.case.chart };
  return (
    <State name="TextField, Choice, Tick, Select">
      <TextField {...field} id="text-empty" value="" hint={t.case.minimal} />
      <TextField {...field} id="text-wrong" value="?" wrong={t.common.number.needed} />
      <TextField {...field} id="text-long" value={t.common.caution} long />
      <TextField {...field} id="text-secret" value="123456" kind="password" />
      <Choice id="choice" legend={t.plan.mode} options={OPTIONS()} value="pulsed" onChange={nothing} />
      <Choice id="choice-across" across legend={t.plan.mode} hint={t.plan.moreHint} wrong={t.common.number.needed} options={OPTIONS()} value="" onChange={nothing} />
      <Tick id="tick-off" checked={false} onChange={nothing}>{t.case.consent}</Tick>
      <Tick id="tick-on" checked onChange={nothing}>{t.case.alerts}</Tick>
      <Select id="select" label={t.case.procedure} options={OPTIONS()} value="gated" onChange={nothing} wrong={t.common.number.needed} />
    </State>
  );
}

function Numbers() {
  const units = ["W", "mW"];
  const field = { units, label: t.plan.power, onChange: nothing };
  return (
    <State name="QuantityField, PinPad">
      <QuantityField {...field} id="empty" typed={{ raw: "", unit: "W" }} hint={t.plan.speedHint} />
      <QuantityField {...field} id="read" typed={{ raw: "2,5", unit: "W" }} />
      <QuantityField {...field} id="asked" typed={{ raw: "1,500", unit: "mW" }} />
      <QuantityField {...field} id="unread" typed={{ raw: "fast", unit: "W" }} />
      <QuantityField {...field} id="refused" typed={{ raw: "400", unit: "W" }} wrong={t.plan.limits} />
      <QuantityField {...field} id="steps" typed={{ raw: "3", unit: "W" }} steps={{ by: "0.5 W", less: null, more: nothing, refused: t.entry.noMinus(t.plan.limits) }} />
      <PinPad id="pin" label={t.door.sign.pin} pin="12" onChange={nothing} />
    </State>
  );
}

function Doses() {
  const verified = { delivery: { verified_ratio: "0.943", verified_ratio_uncertainty: "0.02", verified_at: "2026-11-23T10:00:00Z" } };
  return (
    <State name="DosePanel, Inputs, Provenance">
      <DosePanel response={dose({ emission: PULSED, ...verified })} basis={t.dose.checkOf("23", t.dose.days(2))} facts={facts()} />
      <DosePanel brief response={dose({ emission: { ...PULSED, power_kind: "not stated" } })} basis={t.dose.noCheck} facts={facts()} />
      <div class="dose-open"><Inputs facts={Object.values(facts())} />
        <Provenance id="of-a-cut" formula="api.dose.tissue.cut_depth_m" sources={["walsh1989", "payne1997"]} />
        <Provenance id="of-a-ratio" formula="given" sources={[]} />
        <Provenance id="of-a-limit" formula="api.dose.hazard.limits.limit_irradiance_w_m2" sources={["icnirp2013"]} edition="ICNIRP 2013" /></div>
    </State>
  );
}

/** A dot of each shape, a restart and a cleaning between them. */
function Trends() {
  const shapes: TrendDot["shape"][] = ["baseline", "left_out", "failed", "watched", "limits", "ewma"];
  const dots = shapes.map((shape, n): TrendDot => ({ id: shape, at_ms: n * 6e8, value: 0.95 - 0.02 * n, z: n < 3 ? null : 0.95 - 0.01 * n, shape, part: 0 }));
  const series: TrendSeries = {
    dots, bands: [{ part: 0, center: 0.95, low: 0.92, high: 0.98 }], line: [0.85, 1.15], marks: [{ at_ms: 9e8, kind: "restart" }, { at_ms: 2.1e9, kind: "cleaning" }],
  };
  return (
    <State name="TrendDrawing, TrendKey, CutDrawing">
      <TrendDrawing id="trend" series={series} words={t.trend.chart(dots.length, "1", "6")} chosen="watched" onChoose={nothing} />
      <TrendDrawing id="trend-one" series={{ dots: dots.slice(0, 1), bands: [], line: null, marks: [] }} words={t.trend.empty} chosen={null} onChoose={nothing} />
      <TrendKey shapes={shapes} marks={["restart", "cleaning"]} />
      <CutDrawing id="cut" />
    </State>
  );
}

function Incidents() {
  const states: Partial<Incident>[] = [
    { status: "open", open_points: ["not_assessed", "action_open"] }, { status: "open", open_points: ["not_reported"] }, { status: "open", open_points: [] }, { status: "closed" },
  ];
  return (
    <State name="FirstAid, IncidentMark">
      <FirstAid />
      {states.map((one, n) => <p class="row" key={n}><IncidentMark incident={one as Incident} /></p>)}
    </State>
  );
}

function CheckPictures() {
  return (
    <State name="CheckDrawing">
      {(["aiming_beam", "test_exposure", "nozzle"] as const).map((picture) => <CheckDrawing key={picture} picture={picture} />)}
    </State>
  );
}

function Drawings() {
  const pulsed = { peak_power_w: 100, average_power_w: 3, pulse_duration_s: 250e-6, pulse_period_s: 1 / 120, pulse_shape: "rectangular", gate_on_s: null, gate_off_s: null };
  return (
    <State name="SpotDrawing, PulseDrawing">
      <SpotDrawing id="spot" beam={{ spot_diameter_mm: 0.25, waist_diameter_mm: null, rayleigh_range_mm: null, distance_mm: null, one_sided: false }} />
      <SpotDrawing id="spot-beam" beam={{ spot_diameter_mm: 0.4, waist_diameter_mm: 0.2, rayleigh_range_mm: 2.96, distance_mm: 5.1, one_sided: false }} />
      <PulseDrawing id="pulses" emission={pulsed} />
      <PulseDrawing id="continuous" emission={{ ...pulsed, peak_power_w: 3, pulse_duration_s: null, pulse_period_s: null }} />
    </State>
  );
}

function Seldom() {
  return (
    <>
      <State name="Late, Last, Restored"><ToldOfBackups /></State>
      <State name="LateGroup, Behind, Practices"><ToldOfTheGroup /></State>
      <State name="Offers, Shown"><Offered /></State>
      <State name="Course"><Erasing /></State>
      <State name="Out"><OutOfServiceStates /></State>
      <State name="Case"><ExposedStates /></State>
      <State name="Alarm"><Witnessed /></State>
    </>
  );
}

await showLanguage(location.search === "?es" ? "es" : "en");
await allWords();
document.documentElement.lang = language();
openKeys.value = "read";
render(
  <main class="page"><h1>Parts</h1><Buttons /><TappedLines /><Words /><Fields /><Numbers /><Doses /><Drawings /><CheckPictures /><Trends /><Incidents /><Seldom /></main>,
  document.getElementById("app")!);

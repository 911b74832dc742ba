import "../../styles/facts.css";
import { useSignal } from "@preact/signals";
import { type Facts, factsFor, More, show } from "../../parts/dose";
import { TextField } from "../../parts/fields";
import { statusText } from "../../parts/provenance";
import { quantityText } from "../../parts/quantity";
import { type Rested, Rests } from "../../parts/rests";
import { respond } from "../../dose/evaluate";
import { cases, readings, type Reading, type ReportedCase } from "../../dose/published";
import { localNumbers, t } from "../../text";
import { href } from "../route";
import { AllProcedures } from "./all";

type Dose = ReturnType<typeof respond>["dose"]["set"];

/** What follows from a print, in this order; only what could be worked out is shown. */
const RESULTS = [
  "average_power", "peak_power", "pulse_energy", "duty_cycle", "irradiance_mean", "pulse_irradiance_mean", "fluence_mean", "total_energy",
] as const;

/** Published cases beside a kind of procedure: those that the practice chose for it. */
export function Reported({ names }: { names: readonly string[] }) {
  const found = cases().filter((one) => names.includes(one.procedure));
  return (
    <section class="stack" aria-label={t.reported.title} data-testid="reported">
      <h2>{t.reported.title}</h2>
      <p class="strong">{t.reported.lead}</p>
      {found.length === 0 ? <p class="soft" data-testid="reported-none">{t.reported.none}</p> : <List found={found} />}
      <a class="button quiet" href={href("practice", "procedures", "reported")} data-testid="reported-all">{t.reported.all(cases().length)}</a>
    </section>
  );
}

/** Every published case, found by any word of it. */
export function AllReported() {
  const sought = useSignal("");
  const words = sought.value.toLowerCase().split(/\s+/).filter(Boolean);
  const found = cases().filter((one) => words.every((word) => JSON.stringify(one).toLowerCase().includes(word)));
  return (
    <div class="page">
      <h1>{t.reported.title}</h1>
      <p class="strong">{t.reported.lead}</p>
      <TextField id="reported-find" kind="search" label={t.reported.find} value={sought.value} onChange={(text) => { sought.value = text; }} />
      <p class="small soft" role="status">{t.reported.found(found.length, cases().length)}</p>
      <List found={found} />
      <p class="small soft">{t.common.caution}</p>
      <AllProcedures />
    </div>
  );
}

function List({ found }: { found: readonly ReportedCase[] }) {
  return <ul class="list">{found.map((one) => <Case key={one.id} one={one} />)}</ul>;
}

function Case({ one }: { one: ReportedCase }) {
  const w = t.reported;
  const printed: [string, string | null][] = [
    [w.mode, one.mode],
    [w.power, one.powers_w.length > 0 ? `${one.powers_w.map((watts) => localNumbers(String(watts))).join("; ")}\u00a0W (${one.power_kind})` : null],
    [w.wavelength, one.wavelengths_um.map((length) => quantityText(`${length} um`)).join("; ")],
    [w.duration, one.pulse_duration_s === null ? null : quantityText(`${one.pulse_duration_s * 1000} ms`)],
    [w.rate, one.repetition_rate_hz === null ? null : quantityText(`${one.repetition_rate_hz} Hz`)],
    [w.energy, one.pulse_energy_j === null ? null : quantityText(`${one.pulse_energy_j * 1000} mJ`)],
    [w.spot, one.spot_mm === null ? null : quantityText(`${one.spot_mm} mm`)],
    [w.focus, one.focus === "not stated" ? null : one.focus],
    [w.exposure, one.exposure],
  ];
  const found = readings(one);
  return (
    <li class="sheet" data-testid="reported-case">
      <h3 lang="en">{one.procedure}</h3>
      <p class="small" lang="en">{one.evidence}{one.n === null ? "" : `, n\u00a0=\u00a0${one.n}`}</p>
      <p lang="en">{one.result}</p>
      <p class="small soft" lang="en">{one.citation} ({w.read}: {one.read}{one.from_memory ? `; ${w.memory}: ${one.from_memory}` : ""})</p>
      <More id={`reported-${one.id}`} title={w.more}>
        <dl class="fact-tiles">{printed.map(([label, text]) => (
          <div key={label} class="fact"><dt class="small soft">{label}</dt><dd class="num" lang={text === null ? undefined : "en"}>{text ?? t.common.notStated}</dd></div>
        ))}</dl>
        {found.length === 0 ? <p class="small" data-testid="reported-too-little">{w.tooLittle}</p> : <Worked one={one} found={found} />}
      </More>
    </li>
  );
}

/** What can be worked out from the print, a column for each way to read it. */
function Worked({ one, found }: { one: ReportedCase; found: readonly Reading[] }) {
  const w = t.reported;
  const spot = one.spot_mm !== null;
  const doses: Dose[] = found.map(({ request }) => respond(request).dose.set);
  const both = new Set(found.map(({ power_kind }) => power_kind)).size > 1;
  return (
    <div class="stack">
      <p class="small strong">{w.worked}</p>
      {both ? <p class="small">{w.both}</p> : null}
      <div class="both-box"><table class="both">
        <thead><tr><th scope="col"><span class="hidden-text">{t.dose.result}</span></th>
          {found.map(({ power_w, power_kind }) => (
            <th key={`${power_w} ${power_kind}`} scope="col">{quantityText(`${power_w} W`)}{both ? ` ${w.readAs[power_kind]}` : ""}</th>
          ))}</tr></thead>
        <tbody>{RESULTS.filter((name) => doses.some((dose) => dose[name])).map((name) => (
          <tr key={name}><th scope="row">{t.results[name]!.label}</th>
            {doses.map((dose, i) => <td key={i} class="num">{dose[name] ? show(name, dose[name]) : t.common.none}</td>)}</tr>
        ))}</tbody>
      </table></div>
      {spot ? <p class="small soft">{w.spotRead}</p> : <p class="small soft">{w.noSpot}</p>}
      <Rests id={`reported-${one.id}`} basis={() => ({ of: restedOf(doses), inputs: factsFor(RESULTS, printedFacts(one, both), false) })} />
    </div>
  );
}

/** Each result by each formula that gave it: two readings of one print can need two. */
function restedOf(doses: readonly Dose[]): Rested[] {
  return RESULTS.flatMap((name) => {
    const found = new Map(doses.flatMap((dose) => (dose[name] ? [[dose[name].formula, dose[name].sources] as const] : [])));
    return [...found].map(([formula, sources]) => ({ name, label: t.results[name]!.label, formula, sources }));
  });
}

/** What the print states, and what had to be assumed to work anything out of it. */
function printedFacts(one: ReportedCase, both: boolean): Facts {
  const { input, origin, status } = t.dose;
  const facts: Record<string, Facts[string]> = {};
  const put = (name: string, value: string | null, from = t.reported.origin, how = statusText("printed")) => {
    if (value !== null) facts[name] = { name: input[name] ?? name, value: quantityText(value), origin: from, status: how };
  };
  const scaled = (value: number | null, times: number, unit: string) => (value === null ? null : `${Number((value * times).toPrecision(12))} ${unit}`);
  put("power", `${one.powers_w.join("; ")} W`);
  if (both) put("power_kind", t.reported.unknownKind, origin["assumed"]!, status["unstated"]!);
  put("pulse_duration", scaled(one.pulse_duration_s, 1000, "ms"));
  if (one.pulse_duration_s !== null) put("pulse_shape", t.dose.shapes["rectangular"]!, origin["assumed"]!, status["unstated"]!);
  put("repetition_rate", scaled(one.repetition_rate_hz, 1, "Hz"));
  put("spot", one.spot_mm === null ? null : `${one.spot_mm} mm (${t.reported.assumedSpot})`);
  put("emission_time", scaled(one.exposure_s, 1, "s"));
  return facts;
}

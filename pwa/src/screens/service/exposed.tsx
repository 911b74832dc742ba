/** Who was treated between the last passed and the first failed power check, and who on a laser out of service. */
import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { may } from "../../session/rights";
import type { Device } from "../../session/types";
import { exposedCases, exposedFile, type ExposedCase, type Window } from "../../sync/exposed";
import { localNumbers, t } from "../../text";
import { deskWords } from "../desk/papers";
import { percent } from "../facts";
import { href } from "../route";

export function ExposedCases({ device }: { device: Device }) {
  const w = t.service.exposed;
  const found = useSignal<ExposedCase[] | null>(null);
  const wrong = useSignal<string | null>(null);
  const busy = useSignal(false);
  const allowed = may("exposed.read") && may("record.read");
  const run = async (work: () => Promise<void>) => {
    if (busy.value) return;
    busy.value = true;
    wrong.value = null;
    await work().catch((error: unknown) => { wrong.value = deskWords(error); });
    busy.value = false;
  };
  const save = (form: "csv" | "pdf") => run(async () => {
    const url = URL.createObjectURL(await exposedFile(device.device_id, form));
    const link = document.createElement("a");
    link.href = url;
    link.download = `exposed-cases.${form}`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(url), 60_000);
  });
  useEffect(() => { if (allowed) void run(async () => { found.value = await exposedCases(device.device_id); }); }, []);
  if (!allowed) return <div class="page"><h1>{w.title}</h1><p>{t.desk.notAllowed}</p></div>;
  return (
    <div class="page">
      <h1>{w.title}: {device.label}</h1>
      <p class="soft">{w.lead}</p>
      {wrong.value ? <Notice shape="warn" id="exposed-wrong" live><p>{wrong.value}</p></Notice> : null}
      {found.value === null ? (wrong.value ? null : <p role="status">{w.wait}</p>) : (
        <>
          <p role="status" class="strong" data-testid="exposed-count">{found.value.length === 0 ? w.none : w.count(found.value.length)}</p>
          <div class="row">
            <Press id="exposed-pdf" disabled={busy.value} onPress={() => void save("pdf")}>{w.pdf}</Press>
            <Press id="exposed-csv" disabled={busy.value} onPress={() => void save("csv")}>{w.csv}</Press>
          </div>
          <ul class="list">{found.value.map((one) => <Case key={one.record_id} one={one} />)}</ul>
        </>
      )}
      <p class="small soft">{w.note}</p>
      <a class="button quiet" href={href("practice", "service", device.device_id)}>{t.service.more}</a>
    </div>
  );
}

export function Case({ one }: { one: ExposedCase }) {
  const w = t.service.exposed;
  const state = one.status === "void" ? w.voided : one.status === "draft" || one.status === "ended" ? w.draft : "";
  return (
    <li class="sheet" data-testid="exposed-case">
      <p><a href={href("records", one.record_id)} class="strong">{one.chart_number} {one.second_identifier}</a>{state ? <> · {state}</> : null}</p>
      <p class="small">{momentText(one.started_at)} · {one.procedure_text}, {one.site} · {one.operator_name}{one.location_name ? `, ${w.elsewhere(one.location_name)}` : ""}</p>
      {one.windows.map((window) => <Exposure key={`${window.failed.event_id}${window.passed?.event_id}${window.same}`} window={window} />)}
      {one.service ? <p><Mark shape="stop" id="exposed-service">{w.status[one.service]}</Mark></p> : null}
      {one.reasons.length > 0 ? <p class="small">{one.reasons.join("; ")}</p> : null}
    </li>
  );
}

function Exposure({ window }: { window: Window }) {
  const w = t.service.exposed;
  const { failed, passed, passes } = window;
  const joules = (value: number): string => `${localNumbers(String(Number(value.toPrecision(3))))} J`;
  return (
    <div data-testid="exposed-window">
      <p><Mark shape="warn">{passed ? w.before(momentText(passed.at), momentText(failed.at)) : w.ever(momentText(failed.at))}</Mark>{passes.length > 0 ? <span class="small soft"> {t.case.pass(passes.join(", ") as unknown as number)}</span> : null}</p>
      {window.ratio_least !== null && window.ratio_most !== null ? (
        <p class="num">{w.range(percent(window.ratio_least), percent(window.ratio_most))}
          {window.set_energy_j !== null ? <>. {w.energy(joules(window.set_energy_j), joules(window.least_energy_j!), joules(window.most_energy_j!))}</> : null}</p>
      ) : <p class="small">{window.same ? w.noBefore(percent(failed.ratio)) : w.noRange}</p>}
    </div>
  );
}

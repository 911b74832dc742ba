import { useSignal } from "@preact/signals";
import { newId } from "../../events/ids";
import { Glyph, Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { TextField } from "../../parts/fields";
import { quantityText } from "../../parts/quantity";
import { draft } from "../../session/draft";
import { house, personName } from "../../session/house";
import { may } from "../../session/rights";
import { person, writing } from "../../session/state";
import type { Device } from "../../session/types";
import { maintenanceOf, withdrawMaintenance, type Maintenance } from "../../session/upkeep";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { dayText } from "../day";
import { RegisterForm } from "../register/form";
import { useRegisters } from "../registers";
import { go, href } from "../route";
import { Papers, UnusedPapers } from "./papers";
import { WORK } from "./work-fields";

interface Props { device_id: string | null; id: string | null }

/** Work on a laser: all of it, or noting some. */
export function MaintenanceScreen({ device_id, id }: Props) {
  const ready = useRegisters();
  if (ready !== true) return <div class="page">{ready ? <Notice shape="warn" live><p>{ready}</p></Notice> : <p role="status">{t.common.loading}</p>}</div>;
  const device = house.value.devices.find((one) => one.device_id === device_id);
  if (!device) return <Lasers />;
  const found = maintenanceOf(device.device_id).find((one) => one.maintenance_id === id);
  if (may("device.write") && (id === "new" || found)) return <Form key={id} device={device} from={found ?? null} />;
  return <OfLaser device={device} />;
}

function Lasers() {
  const w = t.upkeep;
  return (
    <div class="page">
      <h1>{w.maintenance}</h1>
      <ul class="list">{house.value.devices.map(({ device_id, label }) => {
        const last = maintenanceOf(device_id).find((one) => one.status === "current");
        return <li key={device_id}><a class="item" href={href("practice", "maintenance", device_id)}><span class="grow"><span class="strong">{label}</span>
          <span class="small">{last ? lineOf(last) : w.noWork}</span></span><Glyph shape="turn" /></a></li>;
      })}</ul>
      <UnusedPapers />
      <a class="button quiet" href={href("practice", "registers")}>{t.registers.title}</a>
    </div>
  );
}

function OfLaser({ device }: { device: Device }) {
  const w = t.upkeep;
  const works = maintenanceOf(device.device_id);
  const last = works.find((one) => one.status === "current");
  return (
    <div class="page">
      <h1>{w.maintenanceOf(device.label)}</h1>
      {may("device.write") ? <Press id="maintenance-new" kind="main" disabled={!writing.value} onPress={() => go("practice", "maintenance", device.device_id, "new")}>{w.noteWork}</Press> : null}
      {last && last.kind !== "inspection" ? <Notice id="maintenance-next"><p>{w.thenCheck}</p>
        <p class="row"><a class="button" href={href("practice", "checks", device.device_id)}>{t.practice.pages.checks.title}</a>
          <a class="button" href={href("practice", "power", device.device_id)}>{t.power.title}</a></p></Notice> : null}
      {works.length === 0 ? <p class="soft">{w.noWork}</p> : null}
      {works.map((one) => <Work key={one.maintenance_id} device_id={device.device_id} work={one} />)}
      <a class="button quiet" href={href("practice", "registers", "device", device.device_id)}>{device.label}</a>
    </div>
  );
}

function Work({ device_id, work }: { device_id: string; work: Maintenance }) {
  const w = t.upkeep;
  const found = (one: Maintenance["power_before"]) => (one ? w.found(quantityText(one.measured), quantityText(one.expected)) : null);
  const rows: [string, string | null][] = [
    [w.workDone, work.what], [w.fields.parts, work.parts], [w.powerBefore, found(work.power_before)], [w.powerAfter, found(work.power_after)],
    [w.fields.released_by, personName(work.released_by)], [w.fields.next_due_on, work.next_due_on ? dayText(work.next_due_on) : null],
    [w.recorded, [personName(work.by), momentText(work.at)].filter(Boolean).join(", ")],
  ];
  return (
    <article class="sheet" data-testid="maintenance">
      <h2>{lineOf(work)}</h2>
      {work.status === "withdrawn" ? <Mark shape="off">{w.takenBack(work.withdrawn?.reason ?? "")}</Mark> : null}
      {work.status === "current" && work.restarts_trend ? <Mark shape="note">{w.restarts}</Mark> : null}
      <dl class="facts">{rows.filter(([, value]) => value).map(([name, value]) => [<dt key={name}>{name}</dt>, <dd key={`${name}-value`}>{value}</dd>])}</dl>
      <Papers papers={work.certificates} />
      {may("device.write") ? <Press id="maintenance-change" kind="quiet" disabled={!writing.value} onPress={() => go("practice", "maintenance", device_id, work.maintenance_id)}>{w.correct}</Press> : null}
      {may("device.write") && work.status === "current" ? <TakeBack id={work.maintenance_id} /> : null}
    </article>
  );
}

function TakeBack({ id }: { id: string }) {
  const w = t.upkeep;
  const kept = draft<{ reason: string; key: string } | null>(`maintenance-withdraw:${person.value!.person_id}:${id}`, null);
  const tried = useSignal(false);
  const form = kept.value.value;
  const open = () => kept.set({ reason: "", key: newId() });
  if (!form) return <Press id="maintenance-withdraw" kind="quiet" disabled={!writing.value} onPress={open}>{w.takeBack}</Press>;
  const reason = form.reason.trim();
  const save = () => {
    tried.value = true;
    if (reason) void attempt(() => withdrawMaintenance(id, { reason }, form.key)).then((held) => { if (held) kept.clear(); });
  };
  return (
    <form class="stack" onSubmit={(event) => { event.preventDefault(); save(); }}>
      <TextField id="maintenance-reason" label={w.reasons} max={400} spell value={form.reason} wrong={tried.value && !reason ? w.wrong.missing : undefined} onChange={(text) => kept.set({ reason: text, key: newId() })} />
      <div class="row"><Press id="maintenance-withdraw-go" submit disabled={busy.value || !writing.value} onPress={() => undefined}>{w.takeBack}</Press>
        <Press id="maintenance-withdraw-drop" kind="quiet" onPress={() => kept.clear()}>{t.registers.drop}</Press></div>
    </form>
  );
}

function Form({ device, from }: { device: Device; from: Maintenance | null }) {
  const w = t.upkeep;
  return (
    <RegisterForm name={`maintenance:${device.device_id}:${from?.maintenance_id ?? "new"}`} title={w.maintenanceOf(device.label)} lead={w.workLead} type="maintenance.recorded"
      entity_id={from?.maintenance_id ?? null} sections={WORK} from={from ?? { restarts_trend: true }} more={{ device_id: device.device_id, power_before: null, power_after: null }} papers={from?.certificates ?? []}
      save={w.save} done={() => go("practice", "maintenance", device.device_id)} />
  );
}

const lineOf = (work: Maintenance): string => t.upkeep.workLine(t.upkeep.works[work.kind] ?? work.kind, dayText(work.done_on), work.done_by);

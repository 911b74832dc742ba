import { Glyph, Mark, Notice } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { house, personName } from "../../session/house";
import { serviceOf } from "../../session/house_service";
import { may } from "../../session/rights";
import { seat } from "../../session/state";
import type { Device } from "../../session/types";
import { t } from "../../text";
import { useRegisters } from "../registers";
import { href } from "../route";
import { ExposedCases } from "./exposed";
import { KeyForm, ReleaseForm, TakeOutForm } from "./forms";
import { CauseLine, OutMark, OutOfService } from "./mark";
import { WentOn } from "./went";

/** Which laser is out of service: all of them, one with what may be done, or the cases that a failure concerns. */
export function Service({ device_id, mode }: { device_id: string | null; mode: string | null }) {
  const ready = useRegisters();
  if (ready !== true) return <div class="page">{ready ? <Notice shape="warn" live><p>{ready}</p></Notice> : <p role="status">{t.common.loading}</p>}</div>;
  const device = house.value.devices.find((one) => one.device_id === device_id) ?? null;
  if (!device) return <Overview />;
  return mode === "exposed" && seat.value === "desk" ? <ExposedCases key={device.device_id} device={device} /> : <OfLaser key={device.device_id} device={device} />;
}

function Overview() {
  const w = t.service;
  return (
    <div class="page">
      <h1>{w.title}</h1>
      <p class="soft">{w.lead}</p>
      {house.value.devices.length === 0 ? <p class="soft">{t.today.noLasers}</p> : null}
      <ul class="list">{house.value.devices.map((device) => (
        <li key={device.device_id}><a class="item" href={href("practice", "service", device.device_id)} data-testid="service-laser">
          <span class="grow"><span class="strong">{device.label}</span>
            {serviceOf(device.device_id).in_service ? <Mark shape="done">{w.in}</Mark> : <OutMark device_id={device.device_id} />}</span>
          <Glyph shape="turn" /></a></li>
      ))}</ul>
      {seat.value === "desk" ? null : <WentOn />}
      <p class="small soft">{w.caution}</p>
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}

function OfLaser({ device }: { device: Device }) {
  const w = t.service;
  const { device_id } = device;
  const state = serviceOf(device_id);
  const name = (id: string) => personName(id) ?? t.common.unknownPerson;
  return (
    <div class="page">
      <h1>{w.of(device.label)}</h1>
      {state.in_service ? <Mark shape="done" id="in-service">{w.in}</Mark> : <OutOfService device_id={device_id} link={false} />}
      {state.in_service ? <p class="small soft">{w.caution}</p> : <ReleaseForm device_id={device_id} state={state} />}
      {!state.in_service && may("verification.write") ? <KeyForm device_id={device_id} /> : null}
      {may("verification.write") ? <TakeOutForm device_id={device_id} /> : null}
      {may("exposed.read") ? (seat.value === "desk"
        ? <a class="button" href={href("practice", "service", device_id, "exposed")} data-testid="exposed-open">{w.exposed.open}</a>
        : <p class="small soft">{w.exposed.atDesk}</p>) : null}
      {seat.value === "desk" ? null : <WentOn device_id={device_id} />}
      {state.ended.length > 0 ? (
        <section class="stack" data-testid="service-earlier">
          <h2>{w.earlier}</h2>
          <ul class="list">{[...state.ended].reverse().map((cause) => (
            <li key={cause.event_id} class="sheet">
              <CauseLine cause={cause} />
              <p class="small">{w.release.released(name(cause.cleared!.asked_by), name(cause.cleared!.by), momentText(cause.cleared!.at))} {cause.cleared!.done}</p>
            </li>
          ))}</ul>
        </section>
      ) : null}
      <a class="button quiet" href={href("practice", "service")}>{w.title}</a>
    </div>
  );
}

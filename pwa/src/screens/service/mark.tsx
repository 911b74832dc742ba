/** "Out of service", in word and shape, wherever a laser is chosen or used. */
import { Mark, Notice } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { house, personName } from "../../session/house";
import { serviceOf } from "../../session/house_service";
import type { Cause, ServiceState } from "../../session/service-state";
import { t } from "../../text";
import { percent } from "../facts";
import { href } from "../route";

/** What stands against a laser, as a sentence. */
export function causeText(cause: Cause): string {
  const w = t.service;
  if (cause.kind === "verification") {
    const tip = house.value.handpieces.find((one) => one.handpiece_id === cause.handpiece_id)?.label ?? cause.handpiece_id ?? "";
    return w.failedPower(percent(cause.ratio ?? "0"), percent(cause.meter_uncertainty ?? "0"), tip, t.plan.modes[cause.mode ?? ""] ?? cause.mode ?? "");
  }
  if (cause.kind === "check") return w.failedList(cause.title ?? "", (cause.items ?? []).join("; "));
  return w.takenOut(w.reasons[cause.reason_code ?? ""] ?? "", cause.reason ?? "");
}

const whoText = (id: string | null): string => (id ? personName(id) ?? t.common.unknownPerson : t.service.nobody);

export function CauseLine({ cause }: { cause: Cause }) {
  return <p data-testid="service-cause">{causeText(cause)} <span class="small soft">{t.service.by(whoText(cause.by), momentText(cause.at))}</span></p>;
}

/** All of it, with who holds the key; nothing where the laser is in service. */
export function OutOfService({ device_id, link = true }: { device_id: string | null | undefined; link?: boolean }) {
  const state = serviceOf(device_id);
  return state.in_service ? null : <Out state={state} to={link ? href("practice", "service", device_id!) : null} />;
}

export function Out({ state, to }: { state: ServiceState; to: string | null }) {
  const w = t.service;
  return (
    <Notice shape="stop" id="out-of-service">
      <p class="strong">{w.out}, {w.since(momentText(state.since!))}</p>
      {state.causes.map((cause) => <CauseLine key={cause.event_id} cause={cause} />)}
      <p class="small">{state.key_held_by ? w.key(state.key_held_by) : w.keyUnknown} {w.caution}</p>
      {to ? <a class="button quiet" href={to} data-testid="service-link">{w.more}</a> : null}
    </Notice>
  );
}

/** The same in a line, for lists and heads. */
export function OutMark({ device_id, id = "out-mark" }: { device_id: string | null | undefined; id?: string }) {
  const state = serviceOf(device_id);
  if (state.in_service) return null;
  return <Mark shape="stop" id={id}><strong>{t.service.out}</strong>: {causeText(state.causes[0]!)}</Mark>;
}

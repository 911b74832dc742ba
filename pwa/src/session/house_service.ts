/** Which laser is out of service here and now: the register's documents, and what this tablet has said since. */
import { computed } from "@preact/signals";
import { newId } from "../events/ids";
import type { DeviceTakenOut, ServiceOverridden } from "../events/catalogue";
import { checks } from "./checks";
import { say } from "./commands_house";
import { house } from "./house";
import { deviceChecks } from "./house_checks";
import { madeOf, proofs, testsOf, type Need, type Proofs } from "./service-proofs";
import { serviceState, type About, type Asked, type Cause, type ServiceEntry, type ServiceState } from "./service-state";
import { underAllIds } from "./plate";
import type { Device } from "./types";
import { eventsOf, writtenAbout } from "./written";

const SAID = ["device.taken_out", "device.key_held", "device.release_asked", "device.released"];
/** What the server put aside or refused counts no more here than there. */
const COUNTS: ReadonlySet<string> = new Set(["applied", "duplicate"]);

function entriesOf(device_id: string): ServiceEntry[] {
  const known = house.value.deviceService.find((one) => one.device_id === device_id)?.entries ?? [];
  const there = new Set(known.map(({ event_id }) => event_id));
  const own = eventsOf(device_id).filter(({ body, result }) => {
    const outcome = (result as { outcome?: string } | null)?.outcome;
    return SAID.includes(body.type) && !there.has(body.event_id) && (outcome === undefined || COUNTS.has(outcome));
  });
  return [...known, ...own.map(({ body, payload }) => ({
    event_id: body.event_id, type: body.type, at: body.occurred_at, by: body.actor_id, said: payload as Record<string, unknown>, ...madeOf(body),
  }))];
}

/** Every id of a laser, retired entries of the register too. */
const idsOf = (device_id: string): string[] =>
  underAllIds([...new Map([...(house.value.documents["device"] ?? []), ...house.value.devices].map((one) => [String(one["device_id" as never]), one as unknown as Device])).values()], device_id);

function aboutOf(device_id: string): About {
  const ids = idsOf(device_id);
  return {
    verifications: checks.value.filter((one) => ids.includes(one.device_id)).map((one) => ({
      event_id: one.event_id, handpiece_id: one.handpiece_id, mode: one.mode, ratio: one.ratio, meter_uncertainty: one.said.meter_uncertainty,
      verdict: one.verdict, verified_at: one.verified_at, verified_by: one.verified_by, readings: one.said.readings ?? [], ...madeOf(one.made ?? {}),
    })),
    checks: deviceChecks.value.filter((one) => ids.includes(one.device_id)),
    entries: ids.flatMap(entriesOf),
    retired: (house.value.documents["handpiece"] ?? []).filter((one) => one["status"] === "retired").map((one) => String(one["handpiece_id"])),
  };
}

const states = computed<ReadonlyMap<string, ServiceState>>(() => {
  const ids = new Set([...house.value.devices.map(({ device_id }) => device_id), ...writtenAbout(SAID)]);
  return new Map([...ids].map((id) => [id, serviceState(aboutOf(id))]));
});

const NEVER_SAID = serviceState({ verifications: [], checks: [], entries: [] });

/** The state of one laser; of one that is not known here, that nothing stands against it. */
export const serviceOf = (device_id: string | null | undefined): ServiceState => states.value.get(device_id ?? "") ?? NEVER_SAID;

/** For each cause that stands against a laser what lets go of it, and the tests that are there. */
export function proofsOf(device_id: string): ReadonlyMap<string, Proofs[]> {
  const about = aboutOf(device_id);
  const tests = testsOf(about);
  return new Map(serviceOf(device_id).causes.map((cause) => [cause.event_id, proofs(cause, tests, about.retired)]));
}

/** What a release still waits for, and what of it is there, each once. */
export function releaseNeeds(device_id: string): { missing: Need[]; there: Need[] } {
  const all = [...proofsOf(device_id).values()].flat();
  const missing = new Set(all.filter(({ tests }) => tests.length === 0).map(({ need }) => need));
  return { missing: [...missing], there: [...new Set(all.map(({ need }) => need))].filter((need) => !missing.has(need)) };
}

export const takeOut = (device_id: string, said: DeviceTakenOut, key?: string): Promise<void> =>
  say({ type: "device.taken_out", entity_id: device_id, payload: said }, key ?? newId());

export const noteKey = (device_id: string, held_by: string, key?: string): Promise<void> =>
  say({ type: "device.key_held", entity_id: device_id, payload: { held_by } }, key ?? newId());

/** The first of two people asks, on the tests passed since, for all that stands against the laser. */
export function askRelease(device_id: string, done: string, key?: string): Promise<void> {
  const found = proofsOf(device_id);
  const tests = [...new Set([...found.values()].flat().flatMap(({ tests }) => tests.slice(-1)))];
  return say({ type: "device.release_asked", entity_id: device_id, payload: { causes: [...found.keys()], tests, done } }, key ?? newId());
}

export const confirmRelease = (device_id: string, asked: Asked, note: string | null, key?: string): Promise<void> =>
  say({ type: "device.released", entity_id: device_id, payload: { asked: asked.event_id, note } }, key ?? newId());

/** Why it goes on with a laser that is out of service, with what stood against it by value; null where nothing does. */
export function overriddenBy(device_id: string, reason: string, textOf: (cause: Cause) => string): ServiceOverridden | null {
  const { causes } = serviceOf(device_id);
  if (causes.length === 0) return null;
  return {
    device_id, reason: reason.trim(),
    causes: causes.map((one) => ({ event_id: one.event_id, kind: one.kind, at: one.at, text: textOf(one) })),
  };
}

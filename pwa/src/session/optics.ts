/** Cleanings, test cuts and trends of this house's lasers, with what this tablet has said since. */
import { newId } from "../events/ids";
import type { CutRecorded, CutReferenced, OpticCleaned } from "../events/catalogue";
import type { StoredEvent } from "../outbox/read";
import { checks } from "./checks";
import { say } from "./commands_house";
import { house } from "./house";
import { serviceOf } from "./house_service";
import { localDay } from "./lists";
import { zone } from "./state";
import { cutChecks } from "./test-cut";
import { type Check, CUTS, type Restart, type Trend, trendOf } from "./trend";
import type { Verification } from "./types";
import { eventsOf, writtenAbout } from "./written";

interface Done { done_at: string; done_by: string | null; event_id: string }
export type Cleaning = OpticCleaned & Done & { cleaning_id: string };
export type CutReference = CutReferenced & Done & { test_cut_reference_id: string };
export type TestCut = CutRecorded & Done & { test_cut_id: string };

const TYPES = { cleaning: "optic.cleaned", test_cut_reference: "test_cut.referenced", test_cut: "test_cut.recorded" } as const;
/** What the server put aside or refused counts no more here than there. */
const COUNTS: ReadonlySet<string> = new Set(["applied", "duplicate"]);

/** The server's documents of one kind with this tablet's own, in the order in which it was done. Pure. */
export function withOwnDone<T extends Done>(kind: keyof typeof TYPES, known: readonly T[], own: readonly Pick<StoredEvent, "body" | "payload" | "result">[]): T[] {
  const there = new Set(known.map(({ event_id }) => event_id));
  const fresh = own.filter(({ body, result }) => {
    const outcome = (result as { outcome?: string } | null)?.outcome;
    return body.type === TYPES[kind] && !there.has(body.event_id) && (outcome === undefined || COUNTS.has(outcome));
  });
  const made = fresh.map(({ body, payload }) => ({
    ...(payload as object), [`${kind}_id`]: body.entity_id, event_id: body.event_id, done_at: body.occurred_at, done_by: body.actor_id,
  }) as unknown as T);
  return [...known, ...made].sort((a, b) => Date.parse(a.done_at) - Date.parse(b.done_at));
}

const all = <T extends Done>(kind: keyof typeof TYPES): T[] =>
  withOwnDone<T>(kind, (house.value.documents[kind] ?? []) as unknown as readonly T[], writtenAbout([TYPES[kind]]).flatMap(eventsOf));

const of = <T extends { device_id: string }>(list: readonly T[], device_id: string): T[] => list.filter((one) => one.device_id === device_id);

export const cleaningsOf = (device_id: string): Cleaning[] => of(all<Cleaning>("cleaning"), device_id);
export const cutsOf = (device_id: string): TestCut[] => of(all<TestCut>("test_cut"), device_id);
/** The set-up that a laser's cuts are made by now: the one recorded last. */
export const cutReferenceOf = (device_id: string): CutReference | null => of(all<CutReference>("test_cut_reference"), device_id).at(-1) ?? null;

type Loose = Record<string, unknown>;
const QUARTER_MS = 900_000;

/** The moment at which a day ("YYYY-MM-DD") begins on the location's wall; zones move by quarters of an hour. */
function dayStart(day: string, zone: string | null): string {
  const noon = Date.parse(`${day}T12:00:00Z`);
  if (Number.isNaN(noon)) return day;
  // No zone is as much as 16 hours off.
  let [before, from] = [-28 * 4, 4 * 4];
  while (from - before > 1) {
    const middle = Math.floor((before + from) / 2);
    if (localDay(noon + middle * QUARTER_MS, zone) < day) before = middle;
    else from = middle;
  }
  return new Date(noon + from * QUARTER_MS).toISOString();
}

/** After what a laser's trend begins anew: services that say so, and releases. Pure. */
export function restartsOf(device_id: string, maintenance: readonly Loose[], releases: readonly { event_id: string; at: string }[], zone: string | null): Restart[] {
  const services = maintenance.filter((one) => one["device_id"] === device_id && one["restarts_trend"] === true && one["status"] !== "withdrawn").flatMap((one) => {
    // Of a day alone, all its checks are of the laser as it was handed back.
    const day = one["done_on"];
    return typeof day === "string" ? [{ id: String(one["maintenance_id"]), at: dayStart(day, zone) }] : [];
  });
  // One release lets go of several causes.
  const released = new Map(releases.map(({ event_id, at }) => [event_id, { id: event_id, at }]));
  return [...services, ...released.values()].sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
}

export const restartsHere = (device_id: string): Restart[] =>
  restartsOf(device_id, house.value.documents["maintenance"] ?? [], serviceOf(device_id).ended.flatMap(({ cleared }) => cleared ?? []), house.value.place?.zone ?? zone.value);

/** Power checks as a series of checks; what is no number says nothing. */
export const checksFrom = (list: readonly Verification[]): Check[] => list.flatMap((one) => {
  const [value, uncertainty] = [Number(one.ratio), Number(one.said.meter_uncertainty)];
  return one.ratio !== "" && Number.isFinite(value)
    ? [{ check_id: one.verification_id, at: one.verified_at, value, uncertainty: Number.isFinite(uncertainty) ? uncertainty : 0, failed: one.verdict === "fail" }] : [];
});

/** One series of a laser: of a tip with an emission. */
export interface PowerTrend { key: string; handpiece_id: string; mode: string; list: Verification[]; trend: Trend }

export function powerTrends(device_id: string): PowerTrend[] {
  const groups = new Map<string, Verification[]>();
  for (const one of of(checks.value, device_id)) {
    const key = `${one.handpiece_id}|${one.mode}`;
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  return [...groups].map(([key, list]) => {
    const { handpiece_id, mode } = list[0]!;
    return { key, handpiece_id, mode, list, trend: trendOf(checksFrom(list), restartsHere(device_id)) };
  });
}

/** Those of tips that are still used: how one drifted that was thrown away asks nobody to look. */
export function trendsInUse(device_id: string): PowerTrend[] {
  const retired = new Set((house.value.documents["handpiece"] ?? []).filter((one) => one["status"] === "retired").map((one) => one["handpiece_id"]));
  return powerTrends(device_id).filter(({ handpiece_id }) => !retired.has(handpiece_id));
}

/** The trend of the cuts made by a laser's present set-up; null where there is no set-up. */
export function cutTrend(device_id: string): { reference: CutReference; cuts: TestCut[]; trend: Trend } | null {
  const reference = cutReferenceOf(device_id);
  if (!reference) return null;
  const cuts = cutsOf(device_id).filter(({ reference_id }) => reference_id === reference.test_cut_reference_id);
  return { reference, cuts, trend: trendOf(cutChecks(reference, cuts), restartsHere(device_id), CUTS) };
}

/** Write down a cleaning, a set-up or a cut; the same `key` again does it once. */
export const noteCleaning = (said: OpticCleaned, key: string = newId()): Promise<void> => say({ type: "optic.cleaned", entity_id: key, payload: said }, key);
export const noteReference = (said: CutReferenced, key: string = newId()): Promise<void> => say({ type: "test_cut.referenced", entity_id: key, payload: said }, key);
export const noteCut = (said: CutRecorded, key: string = newId()): Promise<void> => say({ type: "test_cut.recorded", entity_id: key, payload: said }, key);

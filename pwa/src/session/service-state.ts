/**
 * Whether a laser is out of service, since when and why, and who let it back. Pure; mirror of
 * `api/devices/service_state.py` and `service_causes.py`, held to the same vectors. A release ends only what it
 * names, on tests passed after it, so neither the order of arrival nor a clock puts a laser back.
 */
import { byText } from "./by_text";
import {
  happened, happenedAt, madeOf, proofs, testsOf, type Against, type CheckedInput, type Made, type Test, type VerifiedInput,
} from "./service-proofs";

export interface ServiceEntry extends Made { event_id: string; type: string; at: string; by: string | null; said: Record<string, unknown> }
export interface Cleared { at: string; by: string; asked_by: string; done: string; event_id: string }
export interface Cause extends Against {
  event_id: string;
  /** When it is taken to have been; `at` is when it was claimed to be. */
  from: string;
  by: string | null;
  ratio?: string; meter_uncertainty?: string;
  title?: string; items?: string[];
  reason?: string;
  cleared?: Cleared;
}
export interface Asked { event_id: string; at: string; by: string | null; causes: string[]; tests: string[]; done: string }
export interface ServiceState {
  in_service: boolean;
  since: string | null;
  /** What stands against it now, the earliest first. */
  causes: Cause[];
  /** What a release let go of. */
  ended: Cause[];
  key_held_by: string | null;
  /** The last asking for a release that a second person may confirm. */
  asked: Asked | null;
}
export interface About {
  verifications: readonly VerifiedInput[]; checks: readonly CheckedInput[]; entries: readonly ServiceEntry[];
  /** Handpieces that are used no more. */
  retired?: readonly string[];
}

const inTime = <T extends Made & { at: string; event_id: string }>(list: T[]): T[] =>
  list.sort((a, b) => happened(a.at, a) - happened(b.at, b) || byText(a.event_id, b.event_id));

/** The state of one laser from all that was said about it. */
export function serviceState(about: About): ServiceState {
  const said = inTime([...about.entries]);
  const retired = about.retired ?? [];
  const tests = testsOf(about);
  const asked = new Map(said.filter(({ type }) => type === "device.release_asked").map((one) => [one.event_id, one]));
  const releases = said.filter(({ type }) => type === "device.released");
  const causes: Cause[] = [];
  const ended: Cause[] = [];
  for (const cause of causesOf(about, said)) {
    const cleared = clearedBy(cause, asked, releases, tests, retired);
    if (cleared === null) causes.push(cause);
    else ended.push({ ...cause, cleared });
  }
  const since = causes[0]?.at ?? null;
  return { in_service: causes.length === 0, since, causes, ended, key_held_by: keyHeldBy(said, causes), asked: openAsking(causes, [...asked.values()], tests, retired) };
}

function causesOf({ verifications, checks }: About, said: readonly ServiceEntry[]): Cause[] {
  const text = (one: ServiceEntry, name: string): string => String(one.said[name] ?? "");
  const cause = (one: Made & { event_id: string | null }, kind: Cause["kind"], at: string, by: string | null): Cause =>
    ({ event_id: one.event_id ?? "", kind, at, from: happenedAt(at, one), by, ...madeOf(one) });
  return inTime([
    ...verifications.filter(({ verdict }) => verdict === "fail").map((one): Cause => ({
      ...cause(one, "verification", one.verified_at, one.verified_by),
      handpiece_id: one.handpiece_id, mode: one.mode, ratio: one.ratio, meter_uncertainty: one.meter_uncertainty,
    })),
    ...checks.filter(({ verdict }) => verdict === "failed").map((one): Cause => ({
      ...cause(one, "check", one.done_at, one.checked_by), list_kind: one.kind, title: one.title, items: itemsOf(one),
    })),
    ...said.filter(({ type }) => type === "device.taken_out").map((one): Cause => ({
      ...cause(one, "taken_out", one.at, one.by), reason_code: text(one, "reason_code"), reason: text(one, "reason"),
    })),
  ]);
}

/** The text of each item that failed a check, with what was said to it. */
function itemsOf({ failed, answers }: CheckedInput): string[] {
  return failed.map((item_id) => {
    const answer = answers.find((one) => one.item_id === item_id);
    const note = answer?.note?.trim();
    return note ? `${answer!.text}: ${note}` : answer?.text ?? item_id;
  });
}

/** The tests on which an asking lets go of a cause, if it names both: for each need the first; null where one is missing. */
function restsOn(asking: ServiceEntry, cause: Cause, tests: readonly Test[], retired: readonly string[]): Test[] | null {
  if (!(asking.said["causes"] as string[]).includes(cause.event_id)) return null;
  const named = tests.filter(({ event_id }) => (asking.said["tests"] as string[]).includes(event_id));
  const shown = proofs(cause, named, retired).map((one) => named.find(({ event_id }) => event_id === one.tests[0]));
  return shown.every((one) => one !== undefined) ? shown : null;
}

const later = (a: string, b: string): string => (Date.parse(b) > Date.parse(a) ? b : a);

function clearedBy(
  cause: Cause, asked: ReadonlyMap<string, ServiceEntry>, releases: readonly ServiceEntry[], tests: readonly Test[], retired: readonly string[],
): Cleared | null {
  for (const release of releases) {
    const asking = asked.get(String(release.said["asked"]));
    if (!asking || asking.by === null || release.by === null || release.by === asking.by) continue;
    const shown = restsOn(asking, cause, tests, retired);
    if (shown) {
      // Clocks of tablets differ: none lets go before what it rests on.
      const moments = [happenedAt(asking.at, asking), ...shown.map(({ at, made }) => happenedAt(at, made))];
      return { at: moments.reduce(later, happenedAt(release.at, release)), by: release.by, asked_by: asking.by, done: String(asking.said["done"]), event_id: release.event_id };
    }
  }
  return null;
}

function keyHeldBy(said: readonly ServiceEntry[], [first]: readonly Cause[]): string | null {
  if (!first) return null;
  const holders = said
    .filter((one) => (one.type === "device.key_held" || one.type === "device.taken_out") && happened(one.at, one) >= Date.parse(first.from))
    .map((one) => (one.said["held_by"] ?? one.said["key_held_by"] ?? null) as string | null);
  return holders.filter(Boolean).pop() ?? null;
}

function openAsking(standing: readonly Cause[], asked: readonly ServiceEntry[], tests: readonly Test[], retired: readonly string[]): Asked | null {
  const last = asked.filter((one) => standing.some((cause) => restsOn(one, cause, tests, retired) !== null)).pop();
  if (!last) return null;
  const { event_id, at, by, said } = last;
  return { event_id, at, by, causes: said["causes"] as string[], tests: said["tests"] as string[], done: String(said["done"]) };
}

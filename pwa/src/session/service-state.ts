/**
 * Whether a laser is out of service, since when and why, and who let it back. Pure; mirror of
 * `api/devices/service_state.py`, held to the same vectors. A release ends only what it names, so the
 * order of arrival does not matter.
 */
import { byText } from "./by_text";
import { remarksOf } from "./verification";

export interface ServiceEntry { event_id: string; type: string; at: string; by: string | null; said: Record<string, unknown> }
export interface VerifiedInput {
  event_id: string | null; handpiece_id: string; mode: string; ratio: string; meter_uncertainty: string; verdict: string;
  verified_at: string; verified_by: string | null; readings: readonly { measured: readonly string[] }[];
}
export interface CheckedInput {
  event_id: string; kind: string; title: string; verdict: string; done_at: string; checked_by: string | null;
  failed: readonly string[]; answers: readonly { item_id: string; text: string; note?: string | null }[];
}
export interface Cleared { at: string; by: string; asked_by: string; done: string; event_id: string }
export interface Cause {
  event_id: string; kind: "verification" | "check" | "taken_out"; at: string; by: string | null;
  handpiece_id?: string; mode?: string; ratio?: string; meter_uncertainty?: string;
  list_kind?: string; title?: string; items?: string[];
  reason_code?: string; reason?: string;
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
interface Test { event_id: string; kind: "verification" | "check"; said_at: string; at: number; handpiece_id?: string; mode?: string; list_kind?: string }

const ms = (text: string): number => Date.parse(text);
const inTime = <T extends { at: string; event_id: string }>(list: T[]): T[] =>
  list.sort((a, b) => ms(a.at) - ms(b.at) || byText(a.event_id, b.event_id));

/** The state of one laser from all that was said about it. */
export function serviceState(about: About): ServiceState {
  const said = inTime([...about.entries]);
  const retired = about.retired ?? [];
  const tests = new Map(testsOf(about).map((one) => [one.event_id, one]));
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
  return { in_service: causes.length === 0, since, causes, ended, key_held_by: keyHeldBy(said, since), asked: openAsking(causes, [...asked.values()], tests, retired) };
}

/** The events of the tests with which a cause may be let go of, the earliest first. */
export function proofs(cause: Cause, about: Omit<About, "entries">): string[] {
  return testsOf(about).filter((one) => fits(cause, one, about.retired ?? []))
    .sort((a, b) => a.at - b.at || byText(a.event_id, b.event_id)).map(({ event_id }) => event_id);
}

/** Whether a verification is a proof: passed, with as many settings and readings as the house's rule asks. */
export const passed = ({ verdict, readings }: Pick<VerifiedInput, "verdict" | "readings">): boolean =>
  (verdict === "ok" || verdict === "warn") && remarksOf(readings.map(({ measured }) => measured.length)).length === 0;

function causesOf({ verifications, checks }: About, said: readonly ServiceEntry[]): Cause[] {
  const text = (one: ServiceEntry, name: string): string => String(one.said[name] ?? "");
  return inTime([
    ...verifications.filter(({ verdict }) => verdict === "fail").map((one): Cause => ({
      event_id: one.event_id ?? "", kind: "verification", at: one.verified_at, by: one.verified_by,
      handpiece_id: one.handpiece_id, mode: one.mode, ratio: one.ratio, meter_uncertainty: one.meter_uncertainty,
    })),
    ...checks.filter(({ verdict }) => verdict === "failed").map((one): Cause => ({
      event_id: one.event_id, kind: "check", at: one.done_at, by: one.checked_by, list_kind: one.kind, title: one.title, items: itemsOf(one),
    })),
    ...said.filter(({ type }) => type === "device.taken_out").map((one): Cause => ({
      event_id: one.event_id, kind: "taken_out", at: one.at, by: one.by, reason_code: text(one, "reason_code"), reason: text(one, "reason"),
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

function testsOf({ verifications, checks }: Omit<About, "entries">): Test[] {
  return [
    ...verifications.filter(passed).map(({ event_id, verified_at, handpiece_id, mode }): Test =>
      ({ event_id: event_id ?? "", kind: "verification", said_at: verified_at, at: ms(verified_at), handpiece_id, mode })),
    ...checks.filter(({ verdict }) => verdict === "passed").map(({ event_id, done_at, kind }): Test =>
      ({ event_id, kind: "check", said_at: done_at, at: ms(done_at), list_kind: kind })),
  ];
}

/** Whether a test shows that what failed is right again: power with the same mode and handpiece, a list by one of its kind. */
function fits(cause: Cause, test: Test, retired: readonly string[]): boolean {
  if (test.at <= ms(cause.at)) return false;
  if (cause.kind === "taken_out") return true;
  if (cause.kind === "check") return test.kind === "check" && test.list_kind === cause.list_kind;
  const sameHandpiece = test.handpiece_id === cause.handpiece_id || retired.includes(cause.handpiece_id ?? "");
  return test.kind === "verification" && test.mode === cause.mode && sameHandpiece;
}

/** The first test that an asking names which lets go of a cause that it names. */
function proofOf(asking: ServiceEntry, cause: Cause, tests: ReadonlyMap<string, Test>, retired: readonly string[]): Test | null {
  if (!(asking.said["causes"] as string[]).includes(cause.event_id)) return null;
  return (asking.said["tests"] as string[]).flatMap((each) => tests.get(each) ?? []).filter((test) => fits(cause, test, retired))
    .sort((a, b) => a.at - b.at || byText(a.event_id, b.event_id))[0] ?? null;
}

const later = (a: string, b: string): string => (ms(b) > ms(a) ? b : a);

function clearedBy(
  cause: Cause, asked: ReadonlyMap<string, ServiceEntry>, releases: readonly ServiceEntry[], tests: ReadonlyMap<string, Test>, retired: readonly string[],
): Cleared | null {
  for (const release of releases) {
    const asking = asked.get(String(release.said["asked"]));
    if (!asking || asking.by === null || release.by === null || release.by === asking.by) continue;
    const proof = proofOf(asking, cause, tests, retired);
    if (proof) {
      // Clocks of tablets differ: none lets go before what it rests on.
      return { at: [asking.at, proof.said_at].reduce(later, release.at), by: release.by, asked_by: asking.by, done: String(asking.said["done"]), event_id: release.event_id };
    }
  }
  return null;
}

function keyHeldBy(said: readonly ServiceEntry[], since: string | null): string | null {
  if (since === null) return null;
  const holders = said
    .filter(({ type, at }) => (type === "device.key_held" || type === "device.taken_out") && ms(at) >= ms(since))
    .map((one) => (one.said["held_by"] ?? one.said["key_held_by"] ?? null) as string | null);
  return holders.filter(Boolean).pop() ?? null;
}

function openAsking(standing: readonly Cause[], asked: readonly ServiceEntry[], tests: ReadonlyMap<string, Test>, retired: readonly string[]): Asked | null {
  const last = asked.filter((one) => standing.some((cause) => proofOf(one, cause, tests, retired) !== null)).pop();
  if (!last) return null;
  const { event_id, at, by, said } = last;
  return { event_id, at, by, causes: said["causes"] as string[], tests: said["tests"] as string[], done: String(said["done"]) };
}

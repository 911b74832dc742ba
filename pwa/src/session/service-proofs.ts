/**
 * With which tests a laser shows that what stands against it is right again, and which of them came after it. Pure;
 * mirror of `api/devices/service_proofs.py`, where the reasons stand.
 */
import { byText } from "./by_text";
import { remarksOf } from "./verification";

/** What is known of when something was written; null or absent where nothing is. */
export interface Made { tablet_id?: string | null; tablet_seq?: number | null; clock_offset_ms?: number | null; received_at?: string | null }
export interface VerifiedInput extends Made {
  event_id: string | null; handpiece_id: string; mode: string; ratio: string; meter_uncertainty: string; verdict: string;
  verified_at: string; verified_by: string | null; readings: readonly { measured: readonly string[] }[];
}
export interface CheckedInput extends Made {
  event_id: string; kind: string; title: string; verdict: string; done_at: string; checked_by: string | null;
  failed: readonly string[]; answers: readonly { item_id: string; text: string; note?: string | null }[];
}
/** What may be asked for: the same power, the same list, the list after work, a power, any test. */
export type Need = "verification" | "check" | "after_move" | "power" | "test";
export interface Test { event_id: string; kind: "verification" | "check"; at: string; made: Made; handpiece_id?: string; mode?: string; list_kind?: string }
/** What a proof asks of a cause. */
export interface Against extends Made { kind: "verification" | "check" | "taken_out"; at: string; handpiece_id?: string; mode?: string; list_kind?: string; reason_code?: string }

const LISTS_AFTER_MOVE: readonly (string | undefined)[] = ["after_move", "commissioning"];
const AFTER_TAKING_OUT: Readonly<Record<string, readonly Need[]>> = { damage: ["after_move", "power"], repair: ["after_move", "power"], suspicion: ["power"] };

export const madeOf = ({ tablet_id = null, tablet_seq = null, clock_offset_ms = null, received_at = null }: Made): Made =>
  ({ tablet_id, tablet_seq, clock_offset_ms, received_at });

/** When something was by the clock of its tablet put right [ms]; one that is wrong beyond reason is not. */
function putRight(at: string, made: Made): number {
  const right = Date.parse(at) + (made.clock_offset_ms ?? 0);
  const year = new Date(right).getUTCFullYear();
  return year >= 1900 && year <= 2999 ? right : Date.parse(at);
}

/** When something happened [ms]: as claimed, put right, and no later than it was had. */
export const happened = (at: string, made: Made): number =>
  Math.min(putRight(at, made), made.received_at == null ? Infinity : Date.parse(made.received_at));

/** The same as a text: the claimed one, where it needs no putting right. */
export function happenedAt(at: string, made: Made): string {
  const moment = happened(at, made);
  return moment === Date.parse(at) ? at : new Date(moment).toISOString().replace("Z", "+00:00");
}

/** What has to be passed after a cause before it can be let go of. */
export const needsOf = ({ kind, reason_code }: Pick<Against, "kind" | "reason_code">): readonly Need[] =>
  (kind === "taken_out" ? AFTER_TAKING_OUT[reason_code ?? ""] ?? ["test"] : [kind]);

/** Whether a verification is a proof: passed, with as many settings and readings as the house's rule asks. */
export const passed = ({ verdict, readings }: Pick<VerifiedInput, "verdict" | "readings">): boolean =>
  (verdict === "ok" || verdict === "warn") && remarksOf(readings.map(({ measured }) => measured.length)).length === 0;

/** The tests that a laser passed, the earliest first. */
export function testsOf({ verifications, checks }: { verifications: readonly VerifiedInput[]; checks: readonly CheckedInput[] }): Test[] {
  return [
    ...verifications.filter(passed).map((one): Test =>
      ({ event_id: one.event_id ?? "", kind: "verification", at: one.verified_at, made: madeOf(one), handpiece_id: one.handpiece_id, mode: one.mode })),
    ...checks.filter(({ verdict }) => verdict === "passed").map((one): Test =>
      ({ event_id: one.event_id, kind: "check", at: one.done_at, made: madeOf(one), list_kind: one.kind })),
  ].sort((a, b) => happened(a.at, a.made) - happened(b.at, b.made) || byText(a.event_id, b.event_id));
}

export interface Proofs { need: Need; tests: string[] }

/** For each thing that is needed the events of the tests that show it, the earliest first. */
export function proofs(cause: Against, tests: readonly Test[], retired: readonly string[] = []): Proofs[] {
  const later = tests.filter((one) => comesAfter(one, cause));
  return needsOf(cause).map((need) => ({ need, tests: later.filter((one) => shows(need, cause, one, retired)).map(({ event_id }) => event_id) }));
}

/** Whether a test is known to have been made after a cause. */
export function comesAfter({ at, made }: Pick<Test, "at" | "made">, cause: Against): boolean {
  if (cause.tablet_id != null && cause.tablet_id === made.tablet_id) {
    return made.tablet_seq! > cause.tablet_seq! && putRight(at, made) > putRight(cause.at, cause);
  }
  return happened(at, made) > happened(cause.at, cause);
}

function shows(need: Need, cause: Against, test: Test, retired: readonly string[]): boolean {
  if (need === "verification") {
    const sameTip = test.handpiece_id === cause.handpiece_id || retired.includes(cause.handpiece_id ?? "");
    return test.kind === "verification" && test.mode === cause.mode && sameTip;
  }
  if (need === "check") return test.kind === "check" && test.list_kind === cause.list_kind;
  if (need === "after_move") return test.kind === "check" && LISTS_AFTER_MOVE.includes(test.list_kind);
  return need === "test" || test.kind === "verification";
}

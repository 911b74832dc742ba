/** Out of service and back: the vectors that the server is held to as well. */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { proofs, testsOf, type Made } from "../src/session/service-proofs";
import { serviceState, type About } from "../src/session/service-state";

type Row = [string, number, ...unknown[]];
interface Case {
  name: string; verifications: Row[]; checks: Row[]; entries: Row[]; retired?: string[];
  expect: Record<string, unknown>; proofs?: Record<string, Record<string, string[]>>; made?: Record<string, [string | null, number | null, number | null, number | null]>; cleared?: Record<string, number>;
}
const { cases } = JSON.parse(readFileSync(new URL("../../tests/vectors/service_state.json", import.meta.url), "utf-8")) as { cases: Case[] };
const at = (hour: number): string => `2026-11-25T${String(hour).padStart(2, "0")}:00:00.000+00:00`;

function about(one: Case): About {
  const made = (event_id: string): Made => {
    const [tablet_id, tablet_seq, off_hours, received] = one.made?.[event_id] ?? [null, null, null, null];
    return { tablet_id, tablet_seq, clock_offset_ms: off_hours === null ? null : off_hours * 3_600_000, received_at: received === null ? null : at(received) };
  };
  return {
    verifications: one.verifications.map(([event_id, hour, handpiece_id, mode, ratio, verdict, settings, readings]) => ({
      event_id, handpiece_id: handpiece_id as string, mode: mode as string, ratio: ratio as string, meter_uncertainty: "0.03",
      verdict: verdict as string, verified_at: at(hour), verified_by: "someone",
      readings: Array.from({ length: settings as number }, () => ({ measured: Array.from({ length: readings as number }, () => "1 W") })), ...made(event_id),
    })),
    checks: one.checks.map(([event_id, hour, kind, verdict, failed]) => ({
      event_id, kind: kind as string, title: kind as string, verdict: verdict as string, done_at: at(hour), checked_by: "someone",
      failed: failed as string[], answers: (failed as string[]).map((item_id) => ({ item_id, text: `Item ${item_id}`, note: "bad" })), ...made(event_id),
    })),
    entries: one.entries.map(([event_id, hour, type, by, said]) => ({
      event_id, at: at(hour), type: type as string, by: by as string, said: said as Record<string, unknown>, ...made(event_id),
    })),
    retired: one.retired ?? [],
  };
}

describe("whether a laser is out of service", () => {
  it.each(cases.map((one) => [one.name, one] as const))("%s", (_name, one) => {
    const said = about(one);
    const state = serviceState(said);
    expect({
      in_service: state.in_service, since: state.since === null ? null : Number(state.since.slice(11, 13)),
      causes: state.causes.map(({ event_id }) => event_id), ended: state.ended.map(({ event_id }) => event_id),
      key_held_by: state.key_held_by, asked: state.asked?.event_id ?? null,
    }).toEqual(one.expect);
    const cleared = Object.fromEntries(state.ended.map(({ event_id, cleared }) => [event_id, Number(cleared!.at.slice(11, 13))]));
    expect(cleared).toMatchObject(one.cleared ?? {});
    for (const [event_id, expected] of Object.entries(one.proofs ?? {})) {
      const shown = proofs(state.causes.find((cause) => cause.event_id === event_id)!, testsOf(said), said.retired);
      expect(Object.fromEntries(shown.map(({ need, tests }) => [need, tests]))).toEqual(expected);
    }
    const turned = { ...said, verifications: [...said.verifications].reverse(), checks: [...said.checks].reverse(), entries: [...said.entries].reverse() };
    expect(serviceState(turned)).toEqual(state);
  });

  it("says which items failed a check, with what was said to them", () => {
    const said = about({ name: "", verifications: [], checks: [["c", 8, "weekly", "failed", ["a"]]], entries: [], expect: {} });
    expect(serviceState(said).causes[0]!.items).toEqual(["Item a: bad"]);
  });
});

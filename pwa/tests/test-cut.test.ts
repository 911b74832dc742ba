/** Test cuts by hand, what is made of this tablet's own entries, restarts, and the sentences about a trend. */
import { readFileSync } from "node:fs";
import { beforeEach, describe, expect, it } from "vitest";
import vectors from "../../tests/vectors/test_cuts.json";
import { layTrend, nearest, WIDTH } from "../src/parts/drawings/trend-shapes";
import { seriesOf, shapeOf } from "../src/screens/trend/series";
import { meaningSentences } from "../src/screens/trend/words";
import { cleaningSaid, freshCleaning, freshCut, freshSetUp, judgeCut, judgeSetUp, withDepth, withTip } from "../src/screens/trend/form";
import { checksFrom, type Cleaning, type CutReference, restartsOf, withOwnDone } from "../src/session/optics";
import { cutChecks, depthOf } from "../src/session/test-cut";
import { house } from "../src/session/house";
import { trendOf } from "../src/session/trend";
import type { Device, Handpiece, Verification } from "../src/session/types";
import { showLanguage } from "../src/text";

const documentsOf = (one: { power: string; spot: string; length: string; time: string; depths: string[] }) => ({
  reference: { expected_average_power: one.power, spot_diameter: one.spot },
  cut: { cut_length: one.length, cut_time: one.time, depths: one.depths },
});
const device: Device = {
  device_id: "laser", label: "Laser", maker: "Invented", model: "One", serial: "1", wavelength: "10.6 um",
  delivery_part: "articulated arm", modes: ["continuous"], limits: { average_power: { max: "10 W" } }, room_id: null,
};
const tip = { handpiece_id: "fine", device_id: "laser", label: "Fine", kind: "focusing handpiece", spot_diameter: "0.25 mm", working_distance: "12 mm" } as Handpiece;
const typed = (raw: string, unit = "mm") => ({ raw, unit });
const reference: CutReference = {
  test_cut_reference_id: "r1", device_id: "laser", handpiece_id: "fine", mode: "continuous", settings: { emission: { mode: "continuous", power: "4 W" } },
  expected_average_power: "4 W", spot_diameter: "0.25 mm", distance: "12 mm", stack: "twelve sheets", wetness: "wrung out", cut_length: "40 mm", cut_time: "20 s", note: null,
  done_at: "2026-03-01T09:00:00.000Z", done_by: "dent", event_id: "e0",
};

beforeEach(async () => {
  await showLanguage("en");
  house.value = { ...house.value, devices: [device], handpieces: [tip], documents: {} };
});

describe("a test cut", () => {
  it.each(vectors.cuts.map((one) => [one.how, one] as const))("is as worked out by hand: %s", (_, one) => {
    const { reference, cut } = documentsOf(one);
    const found = depthOf(reference, cut)!;
    expect(found.expected_m).toBeCloseTo(one.expected_mm / 1000, 12);
    expect(found.ratio).toBeCloseTo(one.ratio, 12);
  });

  it.each(vectors.unreadable)("says nothing where it cannot be read (%#)", (one) => {
    const { reference, cut } = documentsOf(one);
    expect(cutChecks(reference, [{ ...cut, test_cut_id: "c", done_at: "2026-03-02T09:00:00.000Z" }])).toEqual([]);
  });

  it("is saved with the depth that was shown, and only with depths that are numbers", () => {
    const empty = freshCut(reference);
    expect(judgeCut(empty, reference)).toMatchObject({ lacks: "depths", payload: null, ratio: null });
    const form = withDepth(withDepth(withDepth(empty, 0, typed("3.4")), 1, typed("3,0")), 2, typed("3.2"));
    // The last line was filled, so there is one more.
    expect(form.depths).toHaveLength(4);
    const found = judgeCut({ ...form, aiming: "fainter" }, reference);
    expect(found.ratio).toBeCloseTo(1, 12);
    expect(found.payload).toEqual({
      device_id: "laser", reference_id: "r1", cut_length: "40 mm", cut_time: "20 s", depths: ["3.4 mm", "3.0 mm", "3.2 mm"], expected_depth: "3.2 mm", aiming_beam: "fainter", note: null,
    });
    expect(judgeCut(withDepth(form, 3, typed("3,400")), reference)).toMatchObject({ lacks: "depths", payload: null });
    expect(judgeCut({ ...form, time: typed("0", "s") }, reference)).toMatchObject({ lacks: "time", payload: null });
  });
});

describe("a set-up", () => {
  it("begins with the tip's own spot and distance, and says what it lacks", () => {
    const form = freshSetUp(device, [tip]);
    expect(form).toMatchObject({ handpiece_id: "fine", spot: { raw: "0.25" }, distance: { raw: "12" } });
    expect(judgeSetUp(form, device).lacks).toBe("setting");
    const set = { ...form, plan: { ...form.plan, values: { ...form.plan.values, power: { raw: "4", unit: "W" } } } };
    expect(judgeSetUp(set, device)).toMatchObject({ lacks: "stack", expected_w: "4" });
    const whole = { ...set, stack: " twelve sheets ", wetness: "wrung out" };
    const found = judgeSetUp(whole, device);
    expect(found.lacks).toBeNull();
    expect(found.depth_m).toBeCloseTo(0.0032, 12);
    expect(found.payload).toMatchObject({ stack: "twelve sheets", distance: "12 mm", settings: { emission: { mode: "continuous", power: "4 W" } }, note: null });
    expect(judgeSetUp({ ...whole, spot: typed("0") }, device).lacks).toBe("spot");
    expect(judgeSetUp({ ...whole, distance: typed("0") }, device).lacks).toBeNull();
    expect(judgeSetUp({ ...whole, plan: { ...whole.plan, values: { ...whole.plan.values, power: { raw: "12", unit: "W" } } } }, device).lacks).toBe("setting");
    expect(withTip(whole, { ...tip, working_distance: null }).distance.raw).toBe("");
  });
});

it("notes a cleaning once it is said of what", () => {
  expect(cleaningSaid(freshCleaning(), device)).toBeNull();
  expect(cleaningSaid({ ...freshCleaning(), what: "tip", handpiece_id: "fine", note: " " }, device)).toEqual({ device_id: "laser", what: "tip", handpiece_id: "fine", note: null });
});

describe("what this tablet has said itself", () => {
  const own = (event_id: string, occurred_at: string, outcome?: string) => ({
    body: { type: "optic.cleaned", event_id, entity_id: `c-${event_id}`, actor_id: "dent", occurred_at } as never,
    payload: { device_id: "laser", what: "tip", handpiece_id: null, note: null } as never, result: (outcome ? { outcome } : null) as never,
  });
  it("counts until the server sends it back, and not once it was put aside", () => {
    const known = [{ cleaning_id: "c-e2", event_id: "e2", done_at: "2026-03-02T10:00:00.000Z" }] as unknown as Cleaning[];
    const found = withOwnDone("cleaning", known, [own("e2", "2026-03-02T10:00:00.000Z", "applied"), own("e3", "2026-03-01T10:00:00.000Z"), own("e4", "2026-03-03T10:00:00.000Z", "quarantined")]);
    expect(found.map(({ cleaning_id }) => cleaning_id)).toEqual(["c-e3", "c-e2"]);
  });
});

describe("a trend begins anew", () => {
  const service = { maintenance_id: "m1", device_id: "laser", done_on: "2026-03-05", restarts_trend: true };
  it("after a service that says so and after a release, of this laser", () => {
    const released = { event_id: "e9", at: "2026-03-02T09:00:00.000Z" };
    expect(restartsOf("laser", [service, { ...service, restarts_trend: false }, { ...service, device_id: "other" }, { ...service, status: "withdrawn" }], [released, released], "America/New_York")).toEqual([
      // Midnight there is 5 in the morning at Greenwich in winter, and 4 in summer.
      { id: "e9", at: released.at }, { id: "m1", at: "2026-03-05T05:00:00.000Z" },
    ]);
    expect(restartsOf("laser", [{ ...service, done_on: "2026-07-05" }], [], "America/New_York")[0]!.at).toBe("2026-07-05T04:00:00.000Z");
    // The farthest of both sides: 14 hours ahead, 11 behind; and one at three quarters.
    expect(restartsOf("laser", [service], [], "Pacific/Kiritimati")[0]!.at).toBe("2026-03-04T10:00:00.000Z");
    expect(restartsOf("laser", [service], [], "Pacific/Pago_Pago")[0]!.at).toBe("2026-03-05T11:00:00.000Z");
    expect(restartsOf("laser", [service], [], "Asia/Kathmandu")[0]!.at).toBe("2026-03-04T18:15:00.000Z");
    expect(restartsOf("laser", [], [], null)).toEqual([]);
  });
  it("as the server has it", () => {
    const { cases } = JSON.parse(readFileSync(new URL("../../tests/vectors/restarts.json", import.meta.url), "utf-8")) as {
      cases: { name: string; zone: string; maintenance: Record<string, unknown>[]; causes: { cleared?: { event_id: string; at: string } }[]; expect: [string, string][] }[];
    };
    for (const one of cases) {
      const found = restartsOf("laser", one.maintenance, one.causes.flatMap(({ cleared }) => cleared ?? []), one.zone);
      expect(found.map(({ id, at }) => [id, Date.parse(at)]), one.name).toEqual(one.expect.map(([id, at]) => [id, Date.parse(at)]));
    }
  });
});

it("takes power checks with their meter and verdict, and none that is no number", () => {
  const check = (ratio: string) => ({ verification_id: "v", verified_at: "2026-03-01T09:00:00.000Z", ratio, verdict: "fail", said: { meter_uncertainty: "0.05" } }) as unknown as Verification;
  expect(checksFrom([check("0.7000"), check("")])).toEqual([{ check_id: "v", at: "2026-03-01T09:00:00.000Z", value: 0.7, uncertainty: 0.05, failed: true }]);
});

describe("in words and shapes", () => {
  const day = (n: number): string => new Date(Date.UTC(2026, 0, 1 + 7 * n, 9)).toISOString();
  const level = (n: number) => ({ check_id: `c${n}`, at: day(n), value: 0.95 + (n % 2 ? 0.005 : -0.005) });
  const said = (sentences: string[]): string => sentences.join(" ").replace(/\u00a0/g, " ");

  it("says honestly that there is no baseline yet", () => {
    expect(said(meaningSentences(trendOf([level(0), level(1)]), "power"))).toBe("No baseline yet: 2 of 20 checks in control. Until there are 20, only the 20 % line says something.");
    expect(said(meaningSentences(trendOf([level(0)], [], { baseline: 10, least_sigma: 0.02, relative: true }), "cuts"))).toContain("1 of 10 cuts");
    expect(said(meaningSentences(trendOf([]), "power"))).toBe("No check yet.");
  });

  it("says how fast it drifts, between when it would arrive, and that this is no promise", () => {
    // Level for 20 weeks; then a straight line, 0.01 lower each week: 0.01 * 30.4375 / 7 = 4.348 % a month.
    const falling = Array.from({ length: 10 }, (_, n) => ({ check_id: `f${n}`, at: day(20 + n), value: 0.94 - 0.01 * n }));
    const found = trendOf([...Array.from({ length: 20 }, (_, n) => level(n)), ...falling]);
    const sentence = said(meaningSentences(found, "power"));
    expect(sentence).toContain("Drifting down since May 21, 2026: about 4.3 % a month");
    // At 0.85 on 23 July; 0.80 five weeks later, on 27 August, and no scatter to be unsure by.
    expect(sentence).toContain("would meet the 20 % line between Aug 27, 2026 and Aug 27, 2026. That is no promise");
    expect(sentence).toContain("Clean the output optic as its maker says, key out");
  });

  it("draws times to scale, each state as a shape of its own", () => {
    const checks = [level(0), level(1), { ...level(3), failed: true }];
    const trend = trendOf(checks);
    expect(trend.points.map(shapeOf)).toEqual(["baseline", "baseline", "failed"]);
    const cleaning = { done_at: day(2) } as Cleaning;
    const laid = layTrend(seriesOf(trend, [cleaning, { done_at: day(9) } as Cleaning], [{ id: "r", at: day(1) }]));
    // Weeks 0, 1 and 3 between 14 and 586: a week is 572 / 3.
    expect(laid.dots.map(({ x }) => Math.round(x))).toEqual([14, Math.round(14 + 572 / 3), 586]);
    expect(laid.marks.map(({ kind, x }) => [kind, Math.round(x)])).toEqual([["restart", 205], ["cleaning", Math.round(14 + 2 * 572 / 3)]]);
    // The lines at 0.8 and 1.2 stand inside the picture, the lower one below.
    expect(laid.line_y).toHaveLength(2);
    expect(laid.line_y[0]).toBeGreaterThan(laid.line_y[1]!);
    expect(nearest(laid.dots, WIDTH)).toBe("c3");
    expect(nearest([], 3)).toBeNull();
  });
});

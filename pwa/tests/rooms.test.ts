/** Rooms: geometry worked out by hand, forms that refuse in words, and what a decision carries. */
import { describe, expect, it } from "vitest";
import { distanceText } from "../src/parts/drawings/room-numbers";
import { crosses, farthest_mm, frameOf, isInside, reaches, segments, toSegment, type RoomPlan } from "../src/parts/drawings/room-shapes";
import { centimetres, formOf, planFrom, rectangle } from "../src/screens/rooms/draw-form";
import { answerOf, decidingMm, distancesOf, farthestTip, freshForm, judgeDecision, requestFrom, standsOnOther, zoneFrom } from "../src/screens/rooms/zone";
import { withSaid, type RoomDocument } from "../src/session/rooms";
import type { Device, Handpiece } from "../src/session/types";

const at = (x_mm: number, y_mm: number) => ({ x_mm, y_mm });
/** 4 m x 3 m; the beam is used 1 m from the left and 1 m from the top; a door in the right wall, a window in the top one. */
const PLAN: RoomPlan = {
  corners: [at(0, 0), at(4000, 0), at(4000, 3000), at(0, 3000)],
  openings: [{ kind: "door", wall: 1, from_mm: 1000, width_mm: 900 }, { kind: "window", wall: 0, from_mm: 500, width_mm: 1000 }],
  chairs: [], source: at(1000, 1000),
};

describe("a room's geometry", () => {
  it("knows the farthest corner", () => {
    // From (1, 1) to (4, 3): sqrt(9 + 4) m.
    expect(farthest_mm(PLAN)).toBeCloseTo(3605.551, 3);
  });

  it("puts doors and windows where they stand", () => {
    const [door, window] = segments(PLAN);
    expect(door).toMatchObject({ from: at(4000, 1000), to: at(4000, 1900), distance_mm: 3000 });
    // Nearest place of the window is straight above: 1 m.
    expect(window).toMatchObject({ from: at(500, 0), to: at(1500, 0), distance_mm: 1000 });
  });

  it("measures to the end of a segment where it is nearest", () => {
    expect(toSegment(at(0, 0), at(3000, 4000), at(6000, 4000))).toBe(5000);
    expect(toSegment(at(0, 0), at(3, 4), at(3, 4))).toBe(5);
  });

  it("says what lies within a distance, and when it is the whole room", () => {
    const [near, far] = reaches(PLAN, [{ name: "lens_distance", distance_mm: 1995 }, { name: "direct_distance", distance_mm: 56_000 }]);
    expect(near).toMatchObject({ inside: true });
    expect(near!.through.map(({ kind }) => kind)).toEqual(["window"]);
    expect(far).toMatchObject({ inside: false });
    expect(far!.through.map(({ kind }) => kind)).toEqual(["window", "door"]);
  });

  it("tells inside from outside, in a room with a corner cut out as well", () => {
    const bent = [at(0, 0), at(3600, 0), at(3600, 2000), at(2700, 2000), at(2700, 3200), at(0, 3200)];
    expect(isInside(bent, at(2000, 3000))).toBe(true);
    expect(isInside(bent, at(3000, 2500))).toBe(false);
    expect(crosses(bent)).toBe(false);
    expect(crosses([at(0, 0), at(4000, 3000), at(4000, 0), at(0, 3000)])).toBe(true);
  });

  it("rules metres from the first corner", () => {
    expect(frameOf(PLAN.corners, 100)).toEqual({ x_mm: -100, y_mm: -100, width_mm: 4200, height_mm: 3200,
      metres: { x: [0, 1000, 2000, 3000, 4000], y: [0, 1000, 2000, 3000] } });
  });

  it.each([[1994.7, "2\u00a0m"], [1500, "1.5\u00a0m"], [56.4, "0.06\u00a0m"], [56_418, "56.5\u00a0m"], [399_000, "399\u00a0m"], [398_100, "399\u00a0m"], [20_000, "20\u00a0m"]])(
    "never shows %d mm as less than it is", (mm, text) => { expect(distanceText(mm)).toBe(text); });
});

describe("the form of a drawing", () => {
  it("gives back the plan it was made of", () => {
    const plan = { name: "Room 1", ...PLAN, corners: [...PLAN.corners], openings: [...PLAN.openings], chairs: [{ ...at(2000, 1500), turn_deg: 90 }] };
    expect(planFrom(formOf(plan)).plan).toEqual(plan);
  });

  it("takes whole centimetres only", () => {
    expect(["0", "250", " 90 ", "", "-1", "1.5", "1,5", "10001", "2e2"].map(centimetres)).toEqual([0, 250, 90, null, null, null, null, null, null]);
  });

  it.each([
    ["name", { name: " " }, { name: "name" }],
    ["a door beyond its wall", { openings: [{ kind: "door", wall: 1, from: "300", width: "90" }] }, { "opening-0": "wall" }],
    ["a door without width", { openings: [{ kind: "door", wall: 0, from: "0", width: "0" }] }, { "opening-0": "number" }],
    ["a wall that is not there", { openings: [{ kind: "door", wall: 9, from: "0", width: "90" }] }, { "opening-0": "wall" }],
    ["a chair outside", { chairs: [{ x: "900", y: "100", turn: "0" }] }, { "chair-0": "outside" }],
    ["a turn too far", { chairs: [{ x: "100", y: "100", turn: "360" }] }, { "chair-0": "turn" }],
    ["a source outside", { source: { x: "0", y: "900" } }, { source: "outside" }],
    ["a corner without number", { corners: [{ x: "0", y: "0" }, { x: "", y: "0" }, { x: "4", y: "4" }] }, { "corner-1": "number" }],
    ["walls that cross", { corners: [{ x: "0", y: "0" }, { x: "400", y: "300" }, { x: "400", y: "0" }, { x: "0", y: "300" }], chairs: [] }, { corners: "crossing" }],
  ])("refuses %s", (_, change, wrong) => {
    const found = planFrom({ ...rectangle("Room", 400, 300), ...change });
    expect(found.plan).toBeNull();
    expect(found.wrong).toMatchObject(wrong);
  });
});

const DEVICE = { device_id: "arm", label: "Laser", wavelength: "10.6 um", limits: { average_power: { min: "1 W", max: "10 W" } } } as unknown as Device;
const TIP = { handpiece_id: "h", device_id: "arm", kind: "focusing handpiece", spot_diameter: "0.25 mm",
  optics: { focal_length: "100 mm", beam_diameter_at_lens: "8 mm" } } as unknown as Handpiece;

describe("a zone", () => {
  const form = freshForm("h");
  const request = requestFrom(form, DEVICE, TIP)!;
  const answer = answerOf(request);

  it("is worked out from the greatest power and the lens that are registered", () => {
    if (!answer.ok) throw new Error("refused");
    // f 100 mm, 8 mm 1/e2 on the lens, 10 W: 1.9947 m (tests/dose/test_hazard.py, by hand).
    expect(decidingMm(answer.response)).toBeCloseTo(1994.71, 1);
    expect(distancesOf(answer.response).map(({ name }) => name)).toEqual(["lens_distance", "diffuse_distance"]);
  });

  it("begins with the handpiece that reaches farthest", () => {
    const long = { ...TIP, handpiece_id: "long", optics: { focal_length: "200 mm", beam_diameter_at_lens: "8 mm" } } as unknown as Handpiece;
    const unknown = { ...TIP, handpiece_id: "unknown", optics: null } as unknown as Handpiece;
    expect(farthestTip(DEVICE, [unknown, TIP, long])?.handpiece_id).toBe("long");
    expect(farthestTip(DEVICE, [])).toBeNull();
  });

  it("is not worked out without a greatest power, nor decided by what is scattered", () => {
    expect(requestFrom(form, { ...DEVICE, limits: {} }, TIP)).toBeNull();
    const bare = answerOf(requestFrom(form, DEVICE, null)!);
    expect(bare.ok && decidingMm(bare.response)).toBeNull();
  });

  it("counts a free beam only where its divergence is given", () => {
    const free = answerOf(requestFrom({ ...form, divergence: { raw: "2", unit: "mrad" } }, DEVICE, TIP)!);
    // sqrt(4 x 10 / (pi x 1000)) / (2 mrad / sqrt 2) = 0.11284 / 1.41421e-3 = 79.79 m.
    expect(free.ok && decidingMm(free.response)).toBeCloseTo(79_788, -1);
  });

  it("may be smaller only with a reason, and never larger than worked out", () => {
    const smaller = { ...form, everybody: false, smaller: { raw: "1.5", unit: "m" } };
    expect(judgeDecision(form, 1994)).toEqual({ problem: null, smaller_mm: null });
    expect(judgeDecision(smaller, 1994).problem).toBe("reason");
    expect(judgeDecision({ ...smaller, reason: "door locked" }, 1994)).toEqual({ problem: null, smaller_mm: 1500 });
    expect(judgeDecision({ ...smaller, reason: "door locked" }, 1500).problem).toBe("distance");
    expect(judgeDecision({ ...smaller, smaller: { raw: "", unit: "m" } }, 1994).problem).toBe("distance");
    expect(judgeDecision({ ...smaller, smaller: { raw: "150", unit: "cm" }, reason: "x" }, 1994).smaller_mm).toBe(1500);
  });

  it("carries by value what it stands on, and shows when that has changed", () => {
    if (!answer.ok) throw new Error("refused");
    const zone = zoneFrom({ ...form, everybody: false, smaller: { raw: "1.5", unit: "m" }, reason: " locked " }, DEVICE, request, answer.response);
    expect(zone).toMatchObject({ device_id: "arm", edition: "ICNIRP 2013", everybody: false, smaller: { distance: "1.5 m", reason: "locked" } });
    expect(zone.results["exposure_limit_irradiance"]).toBe("1000 W/m2");
    expect(Object.values(zone.results).every((text) => typeof text === "string")).toBe(true);
    expect(standsOnOther(zone, DEVICE, TIP)).toBe(false);
    expect(standsOnOther(zone, { ...DEVICE, limits: { average_power: { max: "20 W" } } }, TIP)).toBe(true);
  });
});

describe("a room's document", () => {
  const said = (event_id: string, type: string, payload: object) =>
    ({ event_id, payload, body: { type, occurred_at: `t-${event_id}`, actor_id: "p" } }) as unknown as Parameters<typeof withSaid>[1][number];
  const room: RoomDocument = { room_id: "r", plan: null, zones: [] };

  it("takes what this tablet said and the server has not sent back", () => {
    const now = withSaid(room, [said("e1", "room.drawn", { name: "A" }), said("e2", "zone.decided", { device_id: "arm", everybody: true }),
      said("e3", "zone.decided", { device_id: "arm", everybody: false })]);
    expect(now.plan).toMatchObject({ name: "A", event_id: "e1", at: "t-e1" });
    expect(now.zones).toMatchObject([{ event_id: "e3", everybody: false }]);
  });

  it("does not put an older word in the place of a newer one", () => {
    const held = { ...room, plan: { name: "B", event_id: "e5" } as never };
    expect(withSaid(held, [said("e1", "room.drawn", { name: "A" })]).plan).toMatchObject({ name: "B" });
  });
});

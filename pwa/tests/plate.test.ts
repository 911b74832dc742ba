/** One laser under several ids: the vectors that the server is held to as well, and what a tablet says of it. */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { house, type House } from "../src/session/house";
import { serviceOf } from "../src/session/house_service";
import { underAllIds } from "../src/session/plate";
import type { Verification } from "../src/session/types";

type Row = [string, string, string, string];
const { cases } = JSON.parse(readFileSync(new URL("../../tests/vectors/plates.json", import.meta.url), "utf-8")) as {
  cases: { name: string; lasers: Row[]; of: string; ids: string[] }[];
};

describe("one laser under several ids", () => {
  it.each(cases.map((one) => [one.name, one] as const))("%s", (_name, { lasers, of, ids }) => {
    expect(underAllIds(lasers.map(([device_id, maker, model, serial]) => ({ device_id, maker, model, serial })), of)).toEqual(ids);
  });

  it("is out of service under all of them, also where the first is retired", () => {
    const laser = { maker: "Invented Works", model: "One", serial: "12-34", status: "current" };
    const [old, anew] = [{ ...laser, device_id: "old", status: "retired" }, { ...laser, device_id: "new", serial: "1234" }];
    const failed = {
      verification_id: "v", event_id: "v", device_id: "old", handpiece_id: "h", mode: "continuous", ratio: "0.7", ratio_uncertainty: null, verdict: "fail",
      verified_at: "2026-11-25T08:00:00.000+01:00", verified_by: "p", said: { meter_uncertainty: "0.03", readings: [] },
    } as unknown as Verification;
    house.value = { ...house.value, devices: [anew] as unknown as House["devices"], documents: { device: [old, anew] }, verifications: [failed] };
    expect(serviceOf("new").causes.map(({ event_id }) => event_id)).toEqual(["v"]);
    house.value = { ...house.value, documents: { device: [{ ...old, serial: "99" }, anew] } };
    expect(serviceOf("new").in_service).toBe(true);
  });
});

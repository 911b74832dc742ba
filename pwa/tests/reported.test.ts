/** Published cases on the tablet: nothing is filled in, and a doubtful power is read both ways. */
import { expect, it } from "vitest";
import { respond } from "../src/dose/evaluate";
import { cases, readings } from "../src/dose/published";
import { reportedProcedures } from "../src/screens/procedure/reported-names";

const of = (id: string) => cases().find((one) => one.id === id)!;

it("names every reported procedure once", () => {
  const names = reportedProcedures();
  expect(new Set(names).size).toBe(names.length);
  expect(names).toContain("epulis excision");
  expect(cases().every((one) => names.includes(one.procedure))).toBe(true);
});

it("gives the irradiance that the paper prints", () => {
  // Monteiro 2012: 5 W over 2 mm, 159.2 W/cm2.
  expect(respond(readings(of("C01"))[0]!.request).dose.set["irradiance_mean"]!.value).toBeCloseTo(159.2, 1);
});

it("reads a power of unstated kind both ways, and nothing out of a mode that is not stated", () => {
  expect(readings(of("C04")).map(({ power_kind }) => power_kind)).toEqual(["average", "peak"]);
  expect(readings(of("C03"))).toEqual([]);
  expect(readings(of("C36"))).toEqual([]);
});

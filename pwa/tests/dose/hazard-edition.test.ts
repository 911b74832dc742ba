// What edition 2006/25/EC says in words; its values stand in the vectors.
import { describe, expect, test } from "vitest";
import { respond, type HazardResponse } from "../../src/dose/hazard/evaluate";

describe("edition 2006/25/EC", () => {
  const single = (wavelength: string, pulse_duration: string, rest = {}): HazardResponse =>
    respond({ wavelength, emission: { pulse_energy: "1 uJ", pulse_duration }, edition: "2006/25/EC", ...rest });
  const codes = ({ warnings }: HazardResponse): string[] => warnings.map(({ code }) => code);

  // Its own row is 2.7e4 t^0.75: 1.52e-4 J/m2 at 10 ps, 13 times stricter than 2e-3.
  test.each([["1064 nm", "10 ps"], ["532 nm", "0.99 ns"], ["1399 nm", "0.99 ns"]])("has no retinal limit at %s and %s", (wavelength, duration) => {
    const { absent } = single(wavelength, duration);
    for (const name of ["exposure_limit_irradiance", "exposure_limit_fluence", "diffuse_distance", "optical_density"]) {
      expect(absent[name], name).toBe("below 1 ns edition 2006/25/EC offers no limit for the retina");
    }
    expect(single(wavelength, duration, { edition: "ICNIRP 2013" }).results).toHaveProperty("exposure_limit_fluence");
  });

  test.each([
    ["650 nm", "1 ns", true], ["650 nm", "17 us", true], ["650 nm", "18 us", false], ["1064 nm", "40 us", true],
    ["1064 nm", "48 us", false], ["10.6 um", "1 ns", false],
  ])("at %s and %s says that it is the stricter: %s", (wavelength, duration, said) => {
    expect(codes(single(wavelength, duration)).includes("stricter_than_directive")).toBe(said);
    expect(codes(single(wavelength, duration, { edition: "ICNIRP 2013" }))).not.toContain("stricter_than_directive");
  });

  test.each([["0.3 s", "2006/25/EC", 1], ["0.301 s", "2006/25/EC", 1.5 * 0.301 ** 0.375], ["0.35 s", "ICNIRP 2013", 1]])(
    "averages over %s in %s: %s mm", (exposure_time, edition, aperture_mm) => {
      const { results } = respond({ wavelength: "10.6 um", exposure_time, emission: { power: "10 W" }, edition });
      expect(results.limiting_aperture!.value).toBeCloseTo(aperture_mm, 9);
    });

  test("is the same for CO2", () => {
    const request = { wavelength: "10.6 um", exposure_time: "10 s", emission: { power: "10 W" } };
    expect(respond({ ...request, edition: "2006/25/EC" }).results).toEqual(respond(request).results);
  });
});

/** Power verifications against the shared vectors, and what cannot be worked out. */
import { describe, expect, it } from "vitest";
import vectors from "../../tests/vectors/verification.json";
import { exact, judge, RULE, workOut } from "../src/session/verification";

const worked = vectors.worked_out as unknown as {
  readings: [string, string[]][]; meter_uncertainty: string;
  ratio: string; ratio_uncertainty: string; setting_ratios: string[]; verdict: string; remarks: string[];
}[];

describe("a power verification", () => {
  it("states the server's rule", () => expect(RULE).toBe(vectors.rule));

  it.each(vectors.verdicts as [string, string, string][])("of ratio %s with a meter of %s is %s", (ratio, uncertainty, verdict) => {
    expect(judge(ratio, uncertainty)).toBe(verdict);
  });

  it("would not be judged rightly with binary fractions", () => {
    const binary = (ratio: string, uncertainty: string) => {
      const error = Math.abs(Number(ratio) - 1) + Number(uncertainty);
      return error > 0.2 ? "fail" : error > 0.1 ? "warn" : "ok";
    };
    expect(vectors.verdicts.some(([ratio, uncertainty, verdict]) => binary(ratio!, uncertainty!) !== verdict)).toBe(true);
  });

  it.each(worked.map((one, n) => [n, one] as const))("is worked out as the vectors say (%d)", (_, { readings, meter_uncertainty, ...expected }) => {
    const asked = readings.map(([expected_w, measured_w]) => ({ expected_w, measured_w }));
    expect(workOut(asked, meter_uncertainty)).toEqual(expected);
  });

  it.each([[[]], [[{ expected_w: "4", measured_w: [] }]], [[{ expected_w: "0", measured_w: ["1"] }]]])("needs readings of a power (%#)", (readings) => {
    expect(() => workOut(readings, "0.05")).toThrow(RangeError);
  });

  it.each(["", "-1", "1e3", "1,5", "NaN", "٣", ".5"])("does not take %j for a number", (text) => {
    expect(() => exact(text)).toThrow(RangeError);
  });
});

// The tablet's engine against the same vectors as the server's.
import { describe, expect, test } from "vitest";
import display from "../../../tests/vectors/display.json";
import printed from "../../../tests/vectors/dose_printed.json";
import refused from "../../../tests/vectors/dose_refused.json";
import unitVectors from "../../../tests/vectors/dose_units.json";
import { format_value } from "../../src/dose/display";
import { BadInput, type DoseRequest, respond } from "../../src/dose/evaluate";
import { check_limits } from "../../src/dose/limits";
import { to_si, UNITS } from "../../src/dose/quantity";

interface Case {
  request: unknown;
  expected: Record<string, number>;
  delivered?: Record<string, number>;
  bands?: Record<string, Record<"low" | "high", number>>;
  basis?: string;
  notes?: string[];
  intervals?: Record<"set" | "delivered", Record<string, string | Record<"low" | "high", number>> | null>;
  absent?: string[];
  reasons?: Record<string, string>;
  contradictions?: { fields: string[]; by: number }[];
}

function near(actual: number | undefined, expected: number, tolerance: number): void {
  expect(Math.abs((actual ?? NaN) - expected)).toBeLessThanOrEqual(tolerance * Math.abs(expected));
}

const ENTRIES = [...printed.printed, ...printed.hand].flatMap((entry) =>
  (entry.cases as unknown as Case[]).map((item) => ({ ...entry, item })),
);

describe("printed values and hand calculations", () => {
  test.each(ENTRIES)("$id $topic", ({ item, rel_tol }) => {
    const response = respond(item.request as DoseRequest);
    for (const [name, value] of Object.entries(item.expected)) {
      near(response.dose.set[name]?.value, value, rel_tol);
    }
    for (const [name, value] of Object.entries(item.delivered ?? {})) {
      const result = response.dose.delivered?.[name];
      near(typeof result === "object" && result !== null ? result.value : undefined, value, rel_tol);
    }
    for (const [name, band] of Object.entries(item.bands ?? {})) {
      for (const [end, value] of Object.entries(band)) {
        near(response.dose.set[name]?.[end as "low" | "high"], value, rel_tol);
      }
    }
    if (item.basis !== undefined) expect(response.dose.delivered?.basis).toBe(item.basis);
    expect(response.warnings.map(({ code }) => code)).toEqual(
      expect.arrayContaining(item.notes ?? []),
    );
    for (const [side, wanted] of Object.entries(item.intervals ?? {})) {
      const found = response.intervals[side as "set" | "delivered"];
      if (wanted === null) expect(found).toBeNull();
      for (const [name, interval] of Object.entries(wanted ?? {})) {
        const ours = found?.[name];
        if (typeof interval === "string" || typeof ours !== "object") expect(ours).toBe(interval);
        else for (const end of ["low", "high"] as const) near(ours[end], interval[end], rel_tol);
      }
    }
    for (const name of item.absent ?? []) {
      expect(response.dose.set[name]).toBeUndefined();
      expect(response.absent[name]).toBeTruthy();
    }
    for (const [name, words] of Object.entries(item.reasons ?? {})) {
      expect(response.absent[name]).toContain(words);
    }
    const wanted = item.contradictions ?? [];
    expect(response.contradictions.map(({ fields }) => [...fields].sort())).toEqual(
      wanted.map(({ fields }) => fields),
    );
    response.contradictions.forEach(({ by }, place) => near(by, wanted[place]?.by ?? NaN, 1e-6));
  });
});

describe("bad requests", () => {
  test.each(refused.cases)("$why", ({ request, errors }) => {
    let caught: unknown;
    try {
      respond(request as unknown as DoseRequest);
    } catch (problem) {
      caught = problem;
    }
    expect(caught).toBeInstanceOf(BadInput);
    expect(Object.keys((caught as BadInput).errors).sort()).toEqual([...errors].sort());
  });

  test.each([NaN, Infinity, -1])("a value of %s", (value) => {
    const power = { value, unit: "W" };
    const request: DoseRequest = { wavelength: "10.6 um", emission: { mode: "continuous", power } };
    expect(() => respond(request)).toThrow(BadInput);
  });
});

test.each(display.cases)("$name $value is written $text", ({ name, value, text }) => {
  expect(format_value(name, value)).toBe(text);
});

test("the tablet's units are those of the vectors, no more and no fewer", () => {
  for (const [dimension, units] of Object.entries(unitVectors.units)) {
    expect(Object.keys(UNITS[dimension] ?? {}).sort()).toEqual(Object.keys(units).sort());
    for (const [unit, factor] of Object.entries(units as Record<string, number>)) {
      near(to_si({ value: 3, unit }, dimension), 3 * factor, 1e-15);
    }
  }
  expect(Object.keys(UNITS).sort()).toEqual(Object.keys(unitVectors.units).sort());
});

test("what a device cannot do is said at the field that was typed", () => {
  const settings: DoseRequest = {
    wavelength: "10.6 um",
    emission: { mode: "gated", power: "4 W", power_kind: "peak", gate_on: "20 ms", gate_off: "30 ms" },
  };
  expect(check_limits(settings, { peak_power: { max: "3 W" }, gate_on: { min: "21 ms" } })).toEqual({
    "emission.power": "peak power 4 W is above the device's maximum, 3 W",
    "emission.gate_on": "gate on 20 ms is below the device's minimum, 21 ms",
  });
  expect(check_limits(settings, { peak_power: { max: "4 W" }, average_power: { min: "1.6 W" } })).toEqual(
    {},
  );
});

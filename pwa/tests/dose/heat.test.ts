// The tablet's simulation against closed forms, its balance, its time, its worker.
import { performance } from "node:perf_hooks";
import { describe, expect, test, vi } from "vitest";
import vectors from "../../../tests/vectors/heat.json";
import { respond, run } from "../../src/dose/heat";
import type { HeatRequest } from "../../src/dose/schema";

// Nothing here is about how long a busy machine takes.
vi.setConfig({ testTimeout: 120_000 });

interface Case {
  id: string;
  medium: { conductivity_w_m_k: number; heat_capacity_j_m3_k: number; absorption_per_m: number };
  irradiance_w_m2: number;
  pulse_s: number | null;
  times_s: number[];
  depths_m: number[];
  expected_k: number[][];
  tol_of_surface: number;
}

/** The rise at a depth: a cubic through the four cells around it, mirrored at the surface. */
function riseAt(heat: ReturnType<typeof run>["heat"], depth_m: number): number {
  if (depth_m === 0) return heat.surfaceRise();
  const depths = heat.depths();
  if (depth_m > depths[depths.length - 1]!) return 0;
  const below = depths.findIndex((depth) => depth > depth_m);
  const around = [below - 2, below - 1, below, below + 1].map((i) =>
    i < 0 ? [-depths[-1 - i]!, heat.rise_k[-1 - i]!] : [depths[i]!, heat.rise_k[i]!],
  );
  return around.reduce((sum, [z, rise], i) => {
    const parts = around.map(([other], j) => (i === j ? 1 : (depth_m - other!) / (z! - other!)));
    return sum + rise! * parts.reduce((a, b) => a * b, 1);
  }, 0);
}

describe("closed forms without boiling", () => {
  test.each(vectors.cases as Case[])("$id at $times_s s", (item) => {
    const endless = Infinity;
    const medium = {
      ...item.medium, boiling_heat_j_m3: endless, dry_heat_j_m3: endless, removal_heat_j_m3: endless,
    };
    item.times_s.forEach((duration_s, place) => {
      const train = {
        power_w: item.irradiance_w_m2, pulse_s: item.pulse_s ?? Infinity, period_s: null,
        gate_s: null, gate_period_s: null,
      };
      const { heat } = run({ medium, train, area_m2: 1, duration_s, resolution: "fine" });
      const expected = item.expected_k[place]!;
      item.depths_m.forEach((depth, i) => {
        const off = Math.abs(riseAt(heat, depth) - expected[i]!);
        expect(off).toBeLessThanOrEqual(item.tol_of_surface * expected[0]!);
      });
    });
  });
});

const PULSED: HeatRequest = {
  wavelength: "10.6 um",
  emission: {
    mode: "pulsed", pulse_energy: "10 mJ", repetition_rate: "100 Hz", pulse_duration: "400 us",
  },
  spot: { diameter: "0.4 mm", diameter_definition: "1/e2" },
  tissue: { kind: "oral mucosa" },
  duration: "1 s",
};

test("no energy is lost, and each of a hundred pulses removes what its energy allows", () => {
  const { results } = respond(PULSED);
  expect(Math.abs(results.energy_balance_error.value)).toBeLessThan(1e-3);
  // 7.96 J/cm2 over 3740 J/g x 1.06 g/cm3: 20.07 um a pulse at most.
  expect(results.removed_depth.value).toBeGreaterThan(0.8 * 2007);
  expect(results.removed_depth.value).toBeLessThan(2007);
  expect(results.residual_temperature.values).toHaveLength(99);
});

test("a second of a 100 Hz train takes little time against a loop of known work", () => {
  const best = (work: () => void): number => {
    const times = [0, 1, 2].map(() => {
      const start = performance.now();
      work();
      return performance.now() - start;
    });
    return Math.min(...times);
  };
  let sum = 0;
  const calibration = best(() => {
    for (let i = 1; i < 5_000_000; i += 1) sum += Math.sqrt(i);
  });
  const ratio = best(() => respond(PULSED)) / calibration;
  expect(sum).toBeGreaterThan(0);
  expect(ratio).toBeLessThan(60);
});

test("the worker answers, and refuses by field", async () => {
  const answers: unknown[] = [];
  const scope: { onmessage?: (event: { data: unknown }) => void; postMessage: (a: unknown) => void } = {
    postMessage: (answer) => void answers.push(answer),
  };
  vi.stubGlobal("self", scope);
  await import("../../src/dose/heat_worker");
  scope.onmessage?.({ data: { ...PULSED, duration: "1 ms" } });
  scope.onmessage?.({ data: { ...PULSED, duration: "1 mm" } });
  vi.unstubAllGlobals();
  expect(answers[0]).toMatchObject({ ok: true, response: { resolution: "fine" } });
  expect(answers[1]).toMatchObject({ ok: false, errors: { duration: [expect.stringContaining("a time")] } });
});

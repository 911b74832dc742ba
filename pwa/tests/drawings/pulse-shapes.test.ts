/** The pulse train over time. Expected values by hand from the times; the picture is 600 wide, 180 high. */
import { describe, expect, it } from "vitest";
import { pulseTrain, trainFrame } from "../../src/parts/drawings/pulse-shapes";
import { type Emission, gatedPulses } from "../../src/parts/drawings/pulse-times";

const NOTHING: Emission = {
  peak_power_w: null, average_power_w: null, pulse_duration_s: null, pulse_period_s: null,
  pulse_shape: "rectangular", gate_on_s: null, gate_off_s: null,
};
const pulsed = (pulse_duration_s: number, rate_hz: number): Emission => ({ ...NOTHING, pulse_duration_s, pulse_period_s: 1 / rate_hz });

describe("a train without a gate", () => {
  it("shows three periods to scale where a pulse can be seen", () => {
    // 2 ms at 50 Hz: period 20 ms, three of them in 600: 10 units a ms. Pulse 20, pause 180.
    const train = pulseTrain(pulsed(0.002, 50))!;
    expect(train.to_scale).toBe(true);
    expect(train.stretches.map((s) => [s.on, +s.x.toFixed(6), +s.width.toFixed(6)])).toEqual([
      [true, 0, 20], [false, 20, 180], [true, 200, 20], [false, 220, 180], [true, 400, 20], [false, 420, 180],
    ]);
    expect(train.shown_s).toBeCloseTo(0.06, 12);
  });

  it("cuts the pauses, and says so, where they are too long to draw", () => {
    // 80 us at 10 Hz: a pulse would be 600 * 0.08 / 300 = 0.16 units wide.
    const train = pulseTrain(pulsed(80e-6, 10))!;
    expect(train.to_scale).toBe(false);
    expect(train.stretches.map((s) => s.cut)).toEqual([false, true, false, true, false, true]);
    const pulses = train.stretches.filter((s) => s.on);
    expect(new Set(pulses.map((s) => s.width.toFixed(9))).size).toBe(1);
    expect(train.stretches.reduce((sum, s) => sum + s.width, 0)).toBeCloseTo(600, 9);
    expect(train.stretches[1]!.to_s - train.stretches[1]!.from_s).toBeCloseTo(0.09992, 12);
  });

  it("cuts the pulses where the pauses are too short to draw", () => {
    // Period 10 ms, pulse 9.99 ms: a pause of 10 us would be 0.2 units wide.
    const train = pulseTrain(pulsed(9.99e-3, 100))!;
    expect(train.stretches.map((s) => [s.on, s.cut])).toEqual([
      [true, true], [false, false], [true, true], [false, false], [true, true], [false, false],
    ]);
  });

  it("draws power to scale: 3.6 % of 136 is 4.896", () => {
    // 100 W peak, 3.6 W average; the line of no power at 160, the peak 136 above it.
    const train = pulseTrain({ ...pulsed(300e-6, 120), peak_power_w: 100, average_power_w: 3.6 })!;
    expect(train.base_y).toBe(160);
    expect(train.peak_y).toBe(24);
    expect(train.average_y).toBeCloseTo(155.104, 9);
  });

  it("draws no height that nobody knows", () => {
    const train = pulseTrain(pulsed(300e-6, 120))!;
    expect([train.peak_y, train.average_y]).toEqual([null, null]);
  });

  it("is nothing without times", () => {
    expect(pulseTrain(NOTHING)).toBeNull();
    expect(pulseTrain({ ...NOTHING, pulse_duration_s: 1e-3 })).toBeNull();
  });
});

describe("pulses in a gate", () => {
  // By hand, as design/dose section 1 prints them: 200 Hz, 300 us.
  it.each([[0.05, 10, 300e-6], [0.0501, 11, 100e-6], [0.0502, 11, 200e-6], [0.0503, 11, 300e-6], [0.001, 1, 300e-6], [0.0002, 1, 200e-6]])(
    "of %s s are %s, the last of %s s", (gate_on_s, started, last_s) => {
      const got = gatedPulses({ pulse_duration_s: 300e-6, pulse_period_s: 0.005, gate_on_s });
      expect(got.started).toBe(started);
      expect(got.last_s).toBeCloseTo(last_s, 12);
    });

  it("draws all ten of a 50 ms gate at 200 Hz, and cuts only the pause after it", () => {
    // 544 of 600 are for the gate: 10.88 a ms. A pulse of 300 us is 3.264 wide, the second at 54.4.
    const train = pulseTrain({ ...pulsed(300e-6, 200), gate_on_s: 0.05, gate_off_s: 0.05 })!;
    const pulses = train.stretches.filter((s) => s.on);
    expect(pulses).toHaveLength(10);
    expect(pulses[0]!.width).toBeCloseTo(3.264, 9);
    expect(pulses[1]!.x).toBeCloseTo(54.4, 9);
    expect(pulses.every((s) => !s.cut)).toBe(true);
    expect(train.stretches.at(-1)).toMatchObject({ on: false, cut: true, width: 56 });
    expect(train.gates).toHaveLength(1);
    expect(train.gates[0]!.width).toBeCloseTo(544, 9);
    expect([train.pulses_per_gate, train.pulses_shown, train.pulses_left_out]).toEqual([10, 10, 0]);
  });

  it("leaves out and counts what is too much to draw", () => {
    // 100 us at 1 kHz in 500 ms: 500 pulses; three and the last are drawn, 496 stand behind the mark.
    const train = pulseTrain({ ...pulsed(100e-6, 1000), gate_on_s: 0.5, gate_off_s: 0.5 })!;
    expect([train.pulses_per_gate, train.pulses_shown, train.pulses_left_out]).toEqual([500, 4, 496]);
    expect(train.stretches.filter((s) => s.on)).toHaveLength(4);
    expect(train.to_scale).toBe(false);
  });

  it("shows the last pulse cut by the gate", () => {
    const train = pulseTrain({ ...pulsed(300e-6, 200), gate_on_s: 0.0501, gate_off_s: 0.05 })!;
    const last = train.stretches.filter((s) => s.on).at(-1)!;
    expect(last.to_s - last.from_s).toBeCloseTo(100e-6, 12);
    expect(train.stretches.at(-1)!.from_s).toBeCloseTo(0.0501, 12);
  });

  it("draws a gated continuous beam twice, with its pause", () => {
    // 20 ms on, 30 ms off, twice: 100 ms in 600.
    const train = pulseTrain({ ...NOTHING, gate_on_s: 0.02, gate_off_s: 0.03, peak_power_w: 4, average_power_w: 1.6 })!;
    expect(train.stretches.map((s) => [s.on, +s.x.toFixed(6), +s.width.toFixed(6)])).toEqual([
      [true, 0, 120], [false, 120, 180], [true, 300, 120], [false, 420, 180],
    ]);
    expect(train.gates.map((g) => [+g.x.toFixed(6), +g.width.toFixed(6)])).toEqual([[0, 120], [300, 120]]);
    // 1.6 of 4 W is 0.4 of 136, that is 54.4 above 160.
    expect(train.average_y).toBeCloseTo(105.6, 9);
  });
});

describe("two pictures of one scale", () => {
  const slow: Emission = { ...pulsed(0.002, 50), peak_power_w: 50, average_power_w: 5 };

  it("show the same time and measure power alike", () => {
    // Three periods of 20 ms against three of 10 ms: both show 60 ms, the faster one six pulses.
    const fast: Emission = { ...pulsed(0.002, 100), peak_power_w: 100, average_power_w: 20 };
    const frame = trainFrame([slow, fast])!;
    expect(frame.shown_s).toBeCloseTo(0.06, 12);
    expect(frame.high_w).toBe(100);
    const [a, b] = [pulseTrain(slow, frame)!, pulseTrain(fast, frame)!];
    expect([a.pulses_shown, b.pulses_shown]).toEqual([3, 6]);
    expect(a.stretches[0]!.width).toBeCloseTo(20, 9);
    expect(b.stretches[0]!.width).toBeCloseTo(20, 9);
    // 50 of 100 W is half of 136 above 160.
    expect([a.peak_y, b.peak_y]).toEqual([92, 24]);
  });

  it("repeat a gate, and stop where the picture stops", () => {
    // 20 ms open, 30 ms shut, against three periods of 40 ms (120 ms): opened three times, the last 20 ms whole.
    const gated: Emission = { ...NOTHING, gate_on_s: 0.02, gate_off_s: 0.03 };
    const frame = trainFrame([gated, pulsed(0.004, 25)])!;
    const train = pulseTrain(gated, frame)!;
    expect(train.gates).toHaveLength(3);
    expect(train.stretches.filter((s) => s.on)).toHaveLength(3);
    expect(train.stretches.at(-1)!.to_s).toBeCloseTo(0.12, 12);
  });

  it("are not forced where the times differ too much", () => {
    expect(trainFrame([slow, pulsed(80e-6, 10)])).toBeNull();
  });

  it("go with a continuous beam", () => {
    expect(trainFrame([slow, { ...NOTHING, peak_power_w: 4, average_power_w: 4 }])!.high_w).toBe(50);
  });
});

/** What stands below the drawings says what they show. Values by hand, as in the tests of the shapes. */
import { afterEach, describe, expect, it } from "vitest";
import { pulseSentences } from "../../src/parts/drawings/pulse-words";
import type { Emission } from "../../src/parts/drawings/pulse-times";
import type { BeamSizes } from "../../src/parts/drawings/spot-shapes";
import { beamSentences, spotSentences } from "../../src/parts/drawings/spot-words";
import { showLanguage } from "../../src/text";

const said = (sentences: string[]): string => sentences.join(" ").replace(/\u00a0/g, " ");
const WAIST: BeamSizes = { spot_diameter_mm: 0.2412780, waist_diameter_mm: 0.2, rayleigh_range_mm: 2.963767, distance_mm: 2, one_sided: false };
const NOTHING: Emission = {
  peak_power_w: null, average_power_w: null, pulse_duration_s: null, pulse_period_s: null, pulse_shape: "rectangular", gate_on_s: null, gate_off_s: null,
};

afterEach(() => showLanguage("en"));

describe("the spot", () => {
  it("is said as a share of a square, and the square as what it is", () => {
    expect(said(spotSentences({ ...WAIST, spot_diameter_mm: 0.25 }))).toBe("Spot 0.25 mm across (1/e²), on a grid of 1 mm squares. It is 0.25 of a 1 mm square across.");
    expect(said(spotSentences({ ...WAIST, spot_diameter_mm: 20 }))).toBe("Spot 20 mm across (1/e²), on a grid of 10 mm squares. It is 2 of a 10 mm square across.");
  });
});

describe("the beam", () => {
  it("is said with waist, focus, tissue and scale", () => {
    // design/dose section 3: 2 mm from a waist of w0 100 um, w = 120.6390 um. The picture reaches
    // 1.5 x 2.963767 = 4.44565 mm: 65.2 units a mm along; w there is 0.180278 mm: 554.7 across; 8.5 times.
    expect(said(beamSentences(WAIST))).toBe(
      "Narrowest place (waist): 0.2 mm. Depth of focus: 5.93 mm, shaded. The tissue lies 2 mm from the waist. The spot there is 0.241 mm. "
      + "That is within the depth of focus. Nearer or farther by the same distance gives the same spot. Across is drawn 8.5 times as large as along.");
  });

  it("is said to be unknown where only the spot is stated", () => {
    expect(said(beamSentences({ ...WAIST, waist_diameter_mm: null }))).toContain("is not known");
  });

  it("comes out of a tip on one side only", () => {
    const words = said(beamSentences({ ...WAIST, one_sided: true, distance_mm: 8 }));
    expect(words).toContain("The tissue lies 8 mm from the end of the waveguide.");
    expect(words).toContain("outside the depth of focus");
    expect(words).not.toContain("Nearer or farther");
  });
});

describe("the pulses", () => {
  const train: Emission = { ...NOTHING, pulse_duration_s: 300e-6, pulse_period_s: 0.005, peak_power_w: 60, average_power_w: 1.8 };

  it("are said with their gate", () => {
    expect(said(pulseSentences({ ...train, gate_on_s: 0.05, gate_off_s: 0.05 }))).toBe(
      "Each pulse lasts 300 µs, one every 5 ms. The gate is open for 50 ms, then shut for 50 ms. 10 pulses in each gate. Peak power 60 W. Average power 1.8 W. "
      + "The picture shows 0.1 s. Time is not to scale at the break marks: the pause of 50 ms after the gate is cut short.");
  });

  it("are said to be cut by the gate, and how many are left out", () => {
    // 50.1 ms: eleven start, the last for 100 us.
    expect(said(pulseSentences({ ...train, gate_on_s: 0.0501, gate_off_s: 0.05 }))).toContain("11 pulses in each gate. The gate cuts the last one to 100 µs.");
    // 1 kHz for 500 ms: 500 pulses, three and the last are drawn.
    const many = said(pulseSentences({ ...train, pulse_duration_s: 100e-6, pulse_period_s: 0.001, gate_on_s: 0.5, gate_off_s: 0.5 }));
    expect(many).toContain("each pause of 900 µs is cut short, 496 more pulses are not drawn and the pause of 0.5 s after the gate is cut short.");
  });

  it("are said to be without heights where the power is not known", () => {
    expect(said(pulseSentences({ ...train, peak_power_w: null, average_power_w: null }))).toContain("Heights are not to scale");
  });

  it("are none where the beam is continuous", () => {
    expect(said(pulseSentences({ ...NOTHING, peak_power_w: 4, average_power_w: 4 }))).toBe("The beam is on without a pause, at 4 W.");
  });
});

it("says the same in Spanish, with its decimal comma", async () => {
  await showLanguage("es");
  expect(said(spotSentences({ ...WAIST, spot_diameter_mm: 0.25 }))).toBe("Punto de 0,25 mm de diámetro (1/e²), sobre una cuadrícula de 1 mm. Ocupa a lo ancho 0,25 de un cuadro de 1 mm.");
});

/** Which inputs each result is made from, and which results are always in sight. */

const POWER = [
  "power", "average_power", "peak_power", "power_kind", "pulse_energy", "pulse_duration", "repetition_rate", "pulse_period", "duty_cycle", "pulse_shape", "gate_on", "gate_off",
];

/** What a transmission by design is made from. */
export const CHAIN: readonly string[] = [
  "mirror_count", "mirror_reflectance", "lens_transmittance", "window_transmittance", "loss", "contamination_transmittance",
];

const OPTICS = [
  "focal_length", "beam_diameter_at_lens", "beam_quality_m2", "defocus", "waist_diameter", "bore_diameter", "distance", "full_divergence", "wavelength",
];
const SPOT = ["spot", ...OPTICS];

/** In the order in which they are shown. */
export const MADE_FROM: Readonly<Record<string, readonly string[]>> = {
  average_power: POWER,
  peak_power: POWER,
  pulse_energy: POWER,
  pulse_duration: POWER,
  repetition_rate: POWER,
  pulse_period: POWER,
  duty_cycle: POWER,
  off_time: POWER,
  pulses_started_per_gate: POWER,
  pulses_complete_per_gate: POWER,
  gate_energy: POWER,
  delivered_fraction: ["verified_ratio"],
  spot_diameter: SPOT,
  waist_diameter: OPTICS,
  waist_position: OPTICS,
  rayleigh_range: OPTICS,
  depth_of_focus: OPTICS,
  half_divergence: OPTICS,
  irradiance_mean: [...POWER, ...SPOT],
  irradiance_peak: [...POWER, ...SPOT],
  pulse_irradiance_mean: [...POWER, ...SPOT],
  pulse_irradiance_peak: [...POWER, ...SPOT],
  fluence_mean: [...POWER, ...SPOT],
  fluence_peak: [...POWER, ...SPOT],
  dwell_time: [...SPOT, "speed"],
  pulses_per_spot: ["repetition_rate", ...SPOT, "speed"],
  overlap: ["repetition_rate", ...SPOT, "speed"],
  line_energy: [...POWER, "speed"],
  track_fluence_mean: [...POWER, ...SPOT, "speed"],
  track_fluence_peak: [...POWER, ...SPOT, "speed"],
  total_energy: [...POWER, "emission_time"],
  absorption_coefficient: ["wavelength", "tissue", "water_fraction"],
  absorption_depth: ["wavelength", "tissue", "water_fraction"],
  thermal_relaxation_time: ["wavelength", "tissue", "water_fraction", "density", "specific_heat", "conductivity"],
  pulse_depth: [...POWER, ...SPOT, "tissue", "water_fraction", "density", "ablation_threshold", "ablation_heat"],
  cut_depth: [...POWER, ...SPOT, "speed", "tissue"],
  thermal_damage: ["tissue"],
};

/** Always in sight, in this order, with the reason where one is absent. */
export const KEY_RESULTS = ["average_power", "peak_power", "pulse_energy", "irradiance_mean", "fluence_mean"] as const;

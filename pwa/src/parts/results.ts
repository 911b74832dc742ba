/** Which inputs each result is made from, and which results are always in sight. */

const POWER = ["power", "power_kind", "pulse_energy", "pulse_duration", "repetition_rate", "pulse_period", "duty_cycle", "gate_on", "gate_off"];

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
  spot_diameter: ["spot"],
  irradiance_mean: [...POWER, "spot"],
  irradiance_peak: [...POWER, "spot"],
  pulse_irradiance_mean: [...POWER, "spot"],
  pulse_irradiance_peak: [...POWER, "spot"],
  fluence_mean: [...POWER, "spot"],
  fluence_peak: [...POWER, "spot"],
  dwell_time: ["spot", "speed"],
  pulses_per_spot: ["repetition_rate", "spot", "speed"],
  overlap: ["repetition_rate", "spot", "speed"],
  line_energy: [...POWER, "speed"],
  track_fluence_mean: [...POWER, "spot", "speed"],
  track_fluence_peak: [...POWER, "spot", "speed"],
  total_energy: [...POWER, "emission_time"],
};

/** Always in sight, in this order, with the reason where one is absent. */
export const KEY_RESULTS = ["average_power", "peak_power", "pulse_energy", "irradiance_mean", "fluence_mean"] as const;

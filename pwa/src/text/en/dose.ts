export const doseWords = {
  title: "Dose",
  result: "Result",
  set: "From set power",
  delivered: "From verified power",
  design: "By design",
  checkOf: (date: string, age: string) => `check of ${date}, ${age}`,
  noCheck: "not verified with this tip and mode",
  failed: (date: string) => `check of ${date} failed: not used`,
  designBasis: "from the optics’ design, not measured",
  engine: (version: string) => `Dose engine ${version}. Spot on the 1/e² diameter. Mean is over the spot; peak is the middle of a Gaussian beam.`,
  absent: "What cannot be computed, and why",
  nothing: "Enter the panel’s values to see the dose.",
  formula: "Formula",
  inputs: "From",
  source: "Source",
  noSource: "Follows from the meaning of the words.",
  asGiven: "As given; nothing was computed.",
  uncertainty: "Uncertainty",
  notStated: "not stated",
  engineName: (name: string) => (name === "given" ? "" : `Function ${name}.`),
  column: { name: "Input", value: "Value", origin: "Origin", status: "Status" },
  warnings: "Said beside these numbers",
  today: "today",
  yesterday: "yesterday",
  days: (n: number) => `${n} days ago`,
  ahead: "dated in the future",
  ratioNote: "Do not raise the panel to make up for a low ratio; follow the maker’s instructions.",
  input: {
    power: "Power on the panel", average_power: "Average power", peak_power: "Peak power", power_kind: "Kind of power",
    pulse_energy: "Pulse energy", pulse_duration: "Pulse duration", repetition_rate: "Repetition rate",
    pulse_period: "Pulse period", duty_cycle: "Duty cycle", gate_on: "Gate on", gate_off: "Gate pause",
    spot: "Spot diameter", verified_ratio: "Verified ratio", speed: "Hand speed", emission_time: "Laser-on time",
    wavelength: "Wavelength",
  } as Record<string, string>,
  origin: {
    panel: "entered from the panel", preset: "copied from the preset", handpiece: "handpiece register",
    check: "power check at the handpiece", entered: "entered", record: "this record", device: "laser register",
    counted: "added up in this record", computed: "worked out from the other values",
  } as Record<string, string>,
  status: { stated: "as stated", measured: "measured", estimated: "estimated", label: "label", computed: "computed" } as Record<string, string>,
} as const;

/** What each result is called, its formula in words, and the inputs it is made from. */
export interface ResultWords { label: string; formula: string; from: readonly string[] }

const POWER = ["power", "power_kind", "pulse_energy", "pulse_duration", "repetition_rate", "pulse_period", "duty_cycle", "gate_on", "gate_off"];

export const resultWords: Record<string, ResultWords> = {
  average_power: { label: "Average power", formula: "pulse energy × repetition rate (continuous: the set power)", from: POWER },
  peak_power: { label: "Peak power", formula: "pulse energy ÷ pulse duration (rectangular pulse)", from: POWER },
  pulse_energy: { label: "Pulse energy", formula: "average power ÷ repetition rate", from: POWER },
  pulse_duration: { label: "Pulse duration", formula: "pulse energy ÷ peak power", from: POWER },
  repetition_rate: { label: "Repetition rate", formula: "1 ÷ pulse period", from: POWER },
  pulse_period: { label: "Pulse period", formula: "1 ÷ repetition rate", from: POWER },
  duty_cycle: { label: "Duty cycle", formula: "pulse duration × repetition rate", from: POWER },
  off_time: { label: "Pause between pulses", formula: "pulse period − pulse duration", from: POWER },
  pulses_started_per_gate: { label: "Pulses started in a gate", formula: "pulses due before the gate closes", from: POWER },
  pulses_complete_per_gate: { label: "Whole pulses in a gate", formula: "pulses that end before the gate closes", from: POWER },
  gate_energy: { label: "Energy of a gate", formula: "peak power × time the beam is on inside the gate", from: POWER },
  delivered_fraction: { label: "Part of the set power", formula: "power measured at the handpiece ÷ average power that the settings mean", from: ["verified_ratio"] },
  spot_diameter: { label: "Spot diameter (1/e²)", formula: "as stated, converted to 1/e²", from: ["spot"] },
  irradiance_mean: { label: "Irradiance, mean", formula: "4 P ÷ (π d²), P the average power, d the 1/e² diameter", from: [...POWER, "spot"] },
  irradiance_peak: { label: "Irradiance, middle of beam", formula: "8 P ÷ (π d²): twice the mean (Gaussian beam)", from: [...POWER, "spot"] },
  pulse_irradiance_mean: { label: "Irradiance in a pulse, mean", formula: "4 P ÷ (π d²), P the peak power", from: [...POWER, "spot"] },
  pulse_irradiance_peak: { label: "Irradiance in a pulse, middle", formula: "8 P ÷ (π d²), P the peak power", from: [...POWER, "spot"] },
  fluence_mean: { label: "Fluence of a pulse, mean", formula: "4 E ÷ (π d²), E the pulse energy", from: [...POWER, "spot"] },
  fluence_peak: { label: "Fluence of a pulse, middle", formula: "8 E ÷ (π d²), E the pulse energy", from: [...POWER, "spot"] },
  dwell_time: { label: "Dwell time", formula: "d ÷ v", from: ["spot", "speed"] },
  pulses_per_spot: { label: "Pulses on one place", formula: "f d ÷ v", from: ["repetition_rate", "spot", "speed"] },
  overlap: { label: "Overlap of spots", formula: "1 − v ÷ (f d); below 0 there are gaps", from: ["repetition_rate", "spot", "speed"] },
  line_energy: { label: "Line energy", formula: "P ÷ v", from: [...POWER, "speed"] },
  track_fluence_mean: { label: "Fluence along the line, mean", formula: "4 P ÷ (π d v)", from: [...POWER, "spot", "speed"] },
  track_fluence_peak: { label: "Fluence along the line, middle", formula: "√(2/π) P ÷ (w v), w half of d", from: [...POWER, "spot", "speed"] },
  total_energy: { label: "Total energy", formula: "average power × laser-on time", from: [...POWER, "emission_time"] },
};

/** Always in sight, in this order, with the reason where one is absent. */
export const KEY_RESULTS = ["average_power", "peak_power", "pulse_energy", "irradiance_mean", "fluence_mean"] as const;

/** The simulation of heat: what is asked, drawn and said beside it. */
export const heatWords = {
  title: "Simulate the heat",
  model:
    "A model of one place of the surface: heat goes straight down; no motion of the spot, no char, splash or blood flow. It is neither a floor nor a ceiling for what happens in tissue.",
  duration: "How long",
  none: "Leave out",
  durations: { "10 ms": "10 ms", "0.1 s": "0.1 s", "1 s": "1 s", "10 s": "10 s" } as Record<string, string>,
  working: "Being worked out …",
  failed: "The simulation could not be run on this tablet.",
  refused: "These settings cannot be simulated: power, pulses and spot must all be known, without a contradiction.",
  fewerSteps: "Coarser than usual: fewer steps in each pulse, as the time is long.",
  meanPower: "Coarser than usual: the mean power instead of pulses, as there are too many of them.",
  basis: {
    set: "From the set power: what arrives is not known.",
    verified: "From the verified power.",
    design: "From the power that the delivery lets through by its design.",
  } as Record<string, string>,
  cautions:
    "The irradiance is the mean over the spot; in the centre of a Gaussian spot it is twice that. The damage integral (Henriques and Moritz) is extrapolated above 60 °C.",
  highest: (temperature: string) => `Highest temperature of the surface: ${temperature}.`,
  atEnd: (time: string, temperature: string) => `After ${time}: ${temperature}.`,
  beforeLast: (temperature: string) => `Left just before the last pulse: ${temperature}.`,
  removed: (depth: string) => `Removed: ${depth}.`,
  nothingRemoved: "Nothing is removed.",
  outside: (time: string) => `Later than ${time} heat spreads sideways too: broken line, outside validity.`,
  damage: (depth: string) => `The damage integral reaches 1 down to ${depth} below the surface that is left.`,
  noDamage: "The damage integral stays below 1.",
  measured: (low: string, high: string) => `Measured in oral tissue: ${low} to ${high}, shaded. Read the simulation beside it, never in its place.`,
  labelHighest: "highest",
  labelDamage: "damage 1",
  labelMeasured: "measured in tissue",
  labelSurface: "surface",
} as const;

// Generated from api/dose/constants.json and hazard/constants.json by scripts/generate_constants.mjs. Do not edit.

export const PROVENANCE = {
  "constants": {
    "GAUSSIAN_PULSE_FACTOR": {
      "value": 1.0644670194312262,
      "unit": "1",
      "source": "definition",
      "status": "computed"
    },
    "INVERSE_E2_PER_FWHM": {
      "value": 1.6986436005760381,
      "unit": "1",
      "source": "siegman1986",
      "status": "computed"
    },
    "INVERSE_E2_PER_INVERSE_E": {
      "value": 1.4142135623730951,
      "unit": "1",
      "source": "siegman1986",
      "status": "computed"
    },
    "SQRT_TWO_OVER_PI": {
      "value": 0.7978845608028654,
      "unit": "1",
      "source": "siegman1986",
      "status": "computed"
    },
    "CONTRADICTION_TOLERANCE": {
      "value": 0.01,
      "unit": "1",
      "source": "practice",
      "status": "practice"
    },
    "PERIOD_TOLERANCE": {
      "value": 1e-9,
      "unit": "pulse periods",
      "source": "definition",
      "status": "computed"
    },
    "PULSES_HELD_EXACTLY": {
      "value": 1000000,
      "unit": "pulses",
      "source": "definition",
      "status": "computed"
    },
    "TRIANGULAR_EXTENT": {
      "value": 2,
      "unit": "pulse durations",
      "source": "definition",
      "status": "computed"
    },
    "GAUSSIAN_EXTENT": {
      "value": 3,
      "unit": "pulse durations",
      "source": "practice",
      "status": "practice"
    },
    "EXPONENTIAL_EXTENT": {
      "value": 7,
      "unit": "pulse durations",
      "source": "practice",
      "status": "practice"
    },
    "HE11_WAIST_PER_BORE": {
      "value": 0.643562,
      "unit": "1",
      "source": "abrams1972",
      "status": "computed"
    },
    "HALF_DIVERGENCE_LIMIT": {
      "value": 0.5,
      "unit": "rad",
      "source": "siegman1986",
      "status": "from memory"
    },
    "TISSUE_FROM": {
      "value": 0.0000014,
      "unit": "m",
      "source": "practice",
      "status": "practice"
    },
    "MEASURED_WAVELENGTH": {
      "value": 0.0000106,
      "unit": "m",
      "source": "payne1997",
      "status": "printed"
    },
    "MEASURED_WAVELENGTH_MARGIN": {
      "value": 1e-7,
      "unit": "m",
      "source": "practice",
      "status": "practice"
    },
    "MATRIX_ABSORBS_FROM": {
      "value": 0.0000092,
      "unit": "m",
      "source": "practice",
      "status": "practice"
    },
    "MATRIX_ABSORBS_TO": {
      "value": 0.0000097,
      "unit": "m",
      "source": "practice",
      "status": "practice"
    },
    "SHORT_PULSE": {
      "value": 0.0005,
      "unit": "s",
      "source": "practice",
      "status": "practice"
    },
    "LAYER_FACTOR": {
      "value": 4,
      "unit": "1",
      "source": "practice",
      "status": "practice"
    },
    "CUT_HEAT_LEAST": {
      "value": 4000000000,
      "unit": "J/m3",
      "source": "payne1997",
      "status": "computed"
    },
    "CUT_HEAT_MOST": {
      "value": 4800000000,
      "unit": "J/m3",
      "source": "walsh1989",
      "status": "printed"
    },
    "CHAR_BELOW": {
      "value": 60000000,
      "unit": "W/m2",
      "source": "walsh1989",
      "status": "printed"
    },
    "ZONE_ABOVE": {
      "value": 130000000,
      "unit": "W/m2",
      "source": "walsh1989",
      "status": "printed"
    },
    "TREND_SLOPE": {
      "value": 0.000491,
      "unit": "m/W",
      "source": "mungmee2023",
      "status": "printed"
    },
    "TREND_OFFSET": {
      "value": 0.000731,
      "unit": "m",
      "source": "mungmee2023",
      "status": "printed"
    },
    "TREND_FROM": {
      "value": 3,
      "unit": "W",
      "source": "mungmee2023",
      "status": "printed"
    },
    "TREND_TO": {
      "value": 10,
      "unit": "W",
      "source": "mungmee2023",
      "status": "printed"
    },
    "DAMAGE_LEAST": {
      "value": 0.000075,
      "unit": "m",
      "source": "suter2017",
      "status": "printed"
    },
    "DAMAGE_MOST": {
      "value": 0.00054,
      "unit": "m",
      "source": "damagerange",
      "status": "from memory"
    },
    "COVERAGE_FACTOR": {
      "value": 2,
      "unit": "1",
      "source": "gum2008",
      "status": "from memory"
    },
    "DIFFERENCE_STEP": {
      "value": 0.00001,
      "unit": "1",
      "source": "practice",
      "status": "practice"
    },
    "BODY_TEMPERATURE": {
      "value": 37,
      "unit": "Cel",
      "source": "practice",
      "status": "practice"
    },
    "BOILING_TEMPERATURE": {
      "value": 100,
      "unit": "Cel",
      "source": "steam",
      "status": "from memory"
    },
    "KELVIN_OF_ZERO": {
      "value": 273.15,
      "unit": "K",
      "source": "definition",
      "status": "computed"
    },
    "LATENT_HEAT": {
      "value": 2257000,
      "unit": "J/kg",
      "source": "steam",
      "status": "from memory"
    },
    "DAMAGE_LOG_FREQUENCY": {
      "value": 226.7847412249076,
      "unit": "ln(1/s)",
      "source": "henriques1947",
      "status": "from memory"
    },
    "DAMAGE_ACTIVATION": {
      "value": 75000,
      "unit": "K",
      "source": "henriques1947",
      "status": "from memory"
    },
    "HEAT_CELLS_PER_DEPTH": {
      "value": 16,
      "unit": "1",
      "source": "practice",
      "status": "practice"
    },
    "HEAT_UNIFORM_CELLS": {
      "value": 80,
      "unit": "1",
      "source": "practice",
      "status": "practice"
    },
    "HEAT_GROWTH": {
      "value": 1.12,
      "unit": "1",
      "source": "practice",
      "status": "practice"
    },
    "HEAT_REACH": {
      "value": 5,
      "unit": "1",
      "source": "practice",
      "status": "practice"
    },
    "HEAT_STEPS_IN_PULSE": {
      "value": 24,
      "unit": "1",
      "source": "practice",
      "status": "practice"
    },
    "HEAT_STEP_GROWTH": {
      "value": 1.15,
      "unit": "1",
      "source": "practice",
      "status": "practice"
    },
    "HEAT_STEPS_AT_MOST": {
      "value": 16000,
      "unit": "1",
      "source": "practice",
      "status": "practice"
    },
    "HEAT_POINTS_AT_MOST": {
      "value": 1000,
      "unit": "1",
      "source": "practice",
      "status": "practice"
    },
    "EYE_APERTURE_VISIBLE": {
      "value": 0.007,
      "unit": "m",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "SKIN_APERTURE": {
      "value": 0.0035,
      "unit": "m",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "EYE_APERTURE_SHORT": {
      "value": 0.001,
      "unit": "m",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "EYE_APERTURE_SHORT_UNTIL": {
      "value": 0.35,
      "unit": "s",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "EYE_APERTURE_GROWTH": {
      "value": 0.0015,
      "unit": "m/s^(3/8)",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "EYE_APERTURE_LONG": {
      "value": 0.0035,
      "unit": "m",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "EYE_APERTURE_UNTIL": {
      "value": 0.0001,
      "unit": "m",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "NOT_AVERAGED_BELOW": {
      "value": 0.001,
      "unit": "m",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "LARGE_AREA_FROM": {
      "value": 0.01,
      "unit": "m^2",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "LARGE_AREA_TO": {
      "value": 0.1,
      "unit": "m^2",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "LARGE_AREA_POWER": {
      "value": 10,
      "unit": "W",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "LARGE_AREA_LEAST": {
      "value": 100,
      "unit": "W/m^2",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "BLUE_LIGHT_BELOW": {
      "value": 6e-7,
      "unit": "m",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "EN207_BEAM_LEAST": {
      "value": 1,
      "unit": "mm",
      "source": "en207",
      "status": "from memory"
    },
    "EN207_BEAM_MOST": {
      "value": 15,
      "unit": "mm",
      "source": "en207",
      "status": "from memory"
    },
    "EN207_GLASS_EXPONENT": {
      "value": 1.7,
      "unit": "1",
      "source": "en207",
      "status": "from memory"
    },
    "EN207_PLASTIC_EXPONENT": {
      "value": 1.1693,
      "unit": "1",
      "source": "en207",
      "status": "from memory"
    },
    "EN207_GRADES": {
      "value": 10,
      "unit": "1",
      "source": "en207",
      "status": "transcribed"
    },
    "CLASS_1_POWER": {
      "value": 0.00039,
      "unit": "W",
      "source": "iec60825",
      "status": "from memory"
    },
    "CLASS_2_POWER": {
      "value": 0.001,
      "unit": "W",
      "source": "iec60825",
      "status": "from memory"
    },
    "CLASS_3R_POWER": {
      "value": 0.005,
      "unit": "W",
      "source": "iec60825",
      "status": "from memory"
    },
    "CLASS_3B_POWER": {
      "value": 0.5,
      "unit": "W",
      "source": "iec60825",
      "status": "from memory"
    },
    "C_A_FLAT_TO": {
      "value": 700,
      "unit": "nm",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "C_A_GROWTH": {
      "value": 0.002,
      "unit": "1/nm",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "C_A_FLAT_FROM": {
      "value": 1050,
      "unit": "nm",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "C_A_MOST": {
      "value": 5,
      "unit": "1",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "C_C_FLAT_TO": {
      "value": 1150,
      "unit": "nm",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "C_C_GROWTH": {
      "value": 0.018,
      "unit": "1/nm",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "C_C_LATER_FROM": {
      "value": 1200,
      "unit": "nm",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "C_C_LATER_LEAST": {
      "value": 8,
      "unit": "1",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "C_C_LATER_GROWTH": {
      "value": 0.04,
      "unit": "1/nm",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "C_C_LATER_ZERO": {
      "value": 1250,
      "unit": "nm",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "RETINAL_TO": {
      "value": 0.0000014,
      "unit": "m",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "LONG_FROM": {
      "value": 10,
      "unit": "s",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "ADDING_UP_EXPONENT": {
      "value": 0.25,
      "unit": "1",
      "source": "icnirp2013",
      "status": "from memory"
    },
    "EYE_APERTURE_GROWTH_EXPONENT": {
      "value": 0.375,
      "unit": "1",
      "source": "icnirp2013",
      "status": "transcribed"
    },
    "VISIBLE_TO": {
      "value": 7e-7,
      "unit": "m",
      "source": "iec60825",
      "status": "from memory"
    },
    "CLASS_1_FROM": {
      "value": 5e-7,
      "unit": "m",
      "source": "iec60825",
      "status": "from memory"
    },
    "EN207_LONG_FROM": {
      "value": 0.0000014,
      "unit": "m",
      "source": "en207",
      "status": "transcribed"
    },
    "EN207_D_SHORT_EXPONENT": {
      "value": 1,
      "unit": "1",
      "source": "en207",
      "status": "transcribed"
    },
    "EN207_D_LONG_EXPONENT": {
      "value": 3,
      "unit": "1",
      "source": "en207",
      "status": "transcribed"
    },
    "EN207_IR_SHORT_EXPONENT": {
      "value": 3,
      "unit": "1",
      "source": "en207",
      "status": "transcribed"
    },
    "EN207_IR_SHORT_COEFFICIENT": {
      "value": 5,
      "unit": "J/m^2",
      "source": "en207",
      "status": "transcribed"
    },
    "EN207_IR_LONG_EXPONENT": {
      "value": 2,
      "unit": "1",
      "source": "en207",
      "status": "transcribed"
    },
    "EN207_PULSE_LEAST": {
      "value": 1e-9,
      "unit": "s",
      "source": "en207",
      "status": "transcribed"
    },
    "EN207_PULSE_MOST": {
      "value": 0.25,
      "unit": "s",
      "source": "en207",
      "status": "transcribed"
    },
    "EN207_ACCUMULATION_EXPONENT": {
      "value": 0.25,
      "unit": "1",
      "source": "en207",
      "status": "transcribed"
    },
    "C_C_2006_LATER": {
      "value": 8,
      "unit": "1",
      "source": "directive2006",
      "status": "transcribed"
    },
    "RETINAL_2006_FROM": {
      "value": 1e-9,
      "unit": "s",
      "source": "directive2006",
      "status": "transcribed"
    },
    "RETINAL_2006_SHORT": {
      "value": 0.005,
      "unit": "J/m^2",
      "source": "directive2006",
      "status": "transcribed"
    },
    "RETINAL_2006_SHORT_UNTIL": {
      "value": 0.000018,
      "unit": "s",
      "source": "directive2006",
      "status": "transcribed"
    },
    "RETINAL_2006_LONG": {
      "value": 0.05,
      "unit": "J/m^2",
      "source": "directive2006",
      "status": "from memory"
    },
    "RETINAL_2006_LONG_UNTIL": {
      "value": 0.00005,
      "unit": "s",
      "source": "directive2006",
      "status": "transcribed"
    },
    "EYE_APERTURE_2006_SHORT_UNTIL": {
      "value": 0.3,
      "unit": "s",
      "source": "directive2006",
      "status": "transcribed"
    },
    "water_extinction": {
      "source": "hale1973",
      "status": "transcribed"
    },
    "limits": {
      "source": "icnirp2013",
      "status": "transcribed"
    }
  },
  "tissues": {
    "oral mucosa": {
      "water_fraction": {
        "value": 0.7,
        "source": "practice",
        "status": "practice"
      },
      "density": {
        "value": 1060,
        "source": "practice",
        "status": "practice"
      },
      "specific_heat": {
        "value": 3600,
        "source": "practice",
        "status": "practice"
      },
      "conductivity": {
        "value": 0.5,
        "source": "practice",
        "status": "practice"
      },
      "ablation_threshold": {
        "value": 11500,
        "source": "payne1997",
        "status": "printed"
      },
      "ablation_heat": {
        "value": 3740000,
        "source": "payne1997",
        "status": "printed"
      }
    }
  },
  "formulas": {
    "api.dose.beam.spot_diameter_m": {
      "status": "computed",
      "valid": [
        "gaussian"
      ],
      "constants": [
        "INVERSE_E2_PER_FWHM",
        "INVERSE_E2_PER_INVERSE_E"
      ]
    },
    "api.dose.delivery.delivered_energy_j": {
      "status": "computed",
      "valid": [
        "as_verified"
      ],
      "constants": []
    },
    "api.dose.delivery.delivered_power_w": {
      "status": "computed",
      "valid": [
        "as_verified"
      ],
      "constants": []
    },
    "api.dose.delivery.design_transmission": {
      "status": "computed",
      "valid": [
        "parts_in_row"
      ],
      "constants": []
    },
    "api.dose.delivery.loss_transmittance": {
      "status": "computed",
      "valid": [
        "power_losses"
      ],
      "constants": []
    },
    "api.dose.delivery.mirrors_transmittance": {
      "status": "computed",
      "valid": [
        "like_mirrors"
      ],
      "constants": []
    },
    "api.dose.emission.average_power_from_peak_w": {
      "status": "computed",
      "valid": [
        "even_complete_pulses"
      ],
      "constants": [
        "GAUSSIAN_PULSE_FACTOR"
      ]
    },
    "api.dose.emission.average_power_w": {
      "status": "computed",
      "valid": [
        "any_shape"
      ],
      "constants": []
    },
    "api.dose.emission.continuous_peak_power_w": {
      "status": "computed",
      "valid": [
        "continuous"
      ],
      "constants": []
    },
    "api.dose.emission.duty_cycle": {
      "status": "computed",
      "valid": [
        "even_pulses"
      ],
      "constants": []
    },
    "api.dose.emission.off_time_s": {
      "status": "computed",
      "valid": [
        "stated_width"
      ],
      "constants": []
    },
    "api.dose.emission.pulse_energy_j": {
      "status": "computed",
      "valid": [
        "complete_pulses"
      ],
      "constants": [
        "GAUSSIAN_PULSE_FACTOR"
      ]
    },
    "api.dose.emission.pulse_period_s": {
      "status": "computed",
      "valid": [
        "even_pulses"
      ],
      "constants": []
    },
    "api.dose.emission.shape_factor": {
      "status": "computed",
      "valid": [
        "shape_duration"
      ],
      "constants": [
        "GAUSSIAN_PULSE_FACTOR"
      ]
    },
    "api.dose.emission_inverse.duty_cycle_from_powers": {
      "status": "computed",
      "valid": [
        "even_complete_pulses"
      ],
      "constants": [
        "GAUSSIAN_PULSE_FACTOR"
      ]
    },
    "api.dose.emission_inverse.peak_power_from_average_w": {
      "status": "computed",
      "valid": [
        "even_complete_pulses"
      ],
      "constants": [
        "GAUSSIAN_PULSE_FACTOR"
      ]
    },
    "api.dose.emission_inverse.peak_power_w": {
      "status": "computed",
      "valid": [
        "even_complete_pulses"
      ],
      "constants": [
        "GAUSSIAN_PULSE_FACTOR"
      ]
    },
    "api.dose.emission_inverse.pulse_duration_from_duty_s": {
      "status": "computed",
      "valid": [
        "even_complete_pulses"
      ],
      "constants": []
    },
    "api.dose.emission_inverse.pulse_duration_s": {
      "status": "computed",
      "valid": [
        "even_complete_pulses"
      ],
      "constants": [
        "GAUSSIAN_PULSE_FACTOR"
      ]
    },
    "api.dose.emission_inverse.pulse_energy_from_average_j": {
      "status": "computed",
      "valid": [
        "even_complete_pulses"
      ],
      "constants": []
    },
    "api.dose.emission_inverse.repetition_rate_from_duty_hz": {
      "status": "computed",
      "valid": [
        "even_complete_pulses"
      ],
      "constants": []
    },
    "api.dose.emission_inverse.repetition_rate_from_energy_hz": {
      "status": "computed",
      "valid": [
        "even_complete_pulses"
      ],
      "constants": []
    },
    "api.dose.emission_inverse.repetition_rate_hz": {
      "status": "computed",
      "valid": [
        "even_complete_pulses"
      ],
      "constants": []
    },
    "api.dose.exposure.dwell_time_s": {
      "status": "computed",
      "valid": [
        "whole_through_spot"
      ],
      "constants": []
    },
    "api.dose.exposure.fluence_mean_j_m2": {
      "status": "computed",
      "valid": [
        "whole_through_spot"
      ],
      "constants": []
    },
    "api.dose.exposure.fluence_peak_j_m2": {
      "status": "computed",
      "valid": [
        "whole_through_spot",
        "gaussian"
      ],
      "constants": []
    },
    "api.dose.exposure.irradiance_mean_w_m2": {
      "status": "computed",
      "valid": [
        "whole_through_spot"
      ],
      "constants": []
    },
    "api.dose.exposure.irradiance_peak_w_m2": {
      "status": "computed",
      "valid": [
        "whole_through_spot",
        "gaussian"
      ],
      "constants": []
    },
    "api.dose.exposure.line_energy_j_m": {
      "status": "computed",
      "valid": [
        "whole_through_spot"
      ],
      "constants": []
    },
    "api.dose.exposure.overlap": {
      "status": "computed",
      "valid": [
        "whole_through_spot"
      ],
      "constants": []
    },
    "api.dose.exposure.pulses_per_spot": {
      "status": "computed",
      "valid": [
        "whole_through_spot"
      ],
      "constants": []
    },
    "api.dose.exposure.total_energy_j": {
      "status": "computed",
      "valid": [
        "whole_through_spot"
      ],
      "constants": []
    },
    "api.dose.exposure.track_fluence_mean_j_m2": {
      "status": "computed",
      "valid": [
        "whole_through_spot"
      ],
      "constants": []
    },
    "api.dose.exposure.track_fluence_peak_j_m2": {
      "status": "computed",
      "valid": [
        "whole_through_spot",
        "gaussian"
      ],
      "constants": [
        "SQRT_TWO_OVER_PI"
      ]
    },
    "api.dose.gates.continuous_gate_energy_j": {
      "status": "computed",
      "valid": [
        "gate_continuous"
      ],
      "constants": []
    },
    "api.dose.gates.gate_energy_from_overall_j": {
      "status": "computed",
      "valid": [
        "gate_any"
      ],
      "constants": []
    },
    "api.dose.gates.gate_energy_j": {
      "status": "computed",
      "valid": [
        "gate_pulsed"
      ],
      "constants": []
    },
    "api.dose.gates.overall_power_w": {
      "status": "computed",
      "valid": [
        "gate_any"
      ],
      "constants": []
    },
    "api.dose.gates.peak_power_from_gate_w": {
      "status": "computed",
      "valid": [
        "gate_continuous"
      ],
      "constants": []
    },
    "api.dose.gates.pulse_energy_from_gate_j": {
      "status": "computed",
      "valid": [
        "gate_pulsed"
      ],
      "constants": []
    },
    "api.dose.gates.pulse_equivalents_per_gate": {
      "status": "computed",
      "valid": [
        "train_starts_with_gate"
      ],
      "constants": [
        "EXPONENTIAL_EXTENT",
        "GAUSSIAN_EXTENT",
        "PERIOD_TOLERANCE",
        "PULSES_HELD_EXACTLY",
        "TRIANGULAR_EXTENT"
      ]
    },
    "api.dose.gates.pulses_complete_per_gate": {
      "status": "computed",
      "valid": [
        "train_starts_with_gate"
      ],
      "constants": [
        "EXPONENTIAL_EXTENT",
        "GAUSSIAN_EXTENT",
        "PERIOD_TOLERANCE",
        "PULSES_HELD_EXACTLY",
        "TRIANGULAR_EXTENT"
      ]
    },
    "api.dose.gates.pulses_started_per_gate": {
      "status": "computed",
      "valid": [
        "train_starts_with_gate"
      ],
      "constants": [
        "PERIOD_TOLERANCE",
        "PULSES_HELD_EXACTLY"
      ]
    },
    "api.dose.gates.whole_pulses_per_gate": {
      "status": "computed",
      "valid": [
        "within_period"
      ],
      "constants": [
        "PERIOD_TOLERANCE",
        "PULSES_HELD_EXACTLY"
      ]
    },
    "api.dose.heat.run": {
      "status": "computed",
      "valid": [
        "one_place",
        "until_sideways",
        "damage_range"
      ],
      "constants": [
        "BODY_TEMPERATURE",
        "BOILING_TEMPERATURE",
        "DAMAGE_ACTIVATION",
        "DAMAGE_LOG_FREQUENCY",
        "LATENT_HEAT"
      ]
    },
    "api.dose.heating.damage_rate_per_s": {
      "status": "from memory",
      "valid": [
        "damage_range"
      ],
      "constants": [
        "DAMAGE_ACTIVATION",
        "DAMAGE_LOG_FREQUENCY"
      ]
    },
    "api.dose.heating.damage_temperature_k": {
      "status": "from memory",
      "valid": [
        "damage_range"
      ],
      "constants": [
        "DAMAGE_ACTIVATION",
        "DAMAGE_LOG_FREQUENCY"
      ]
    },
    "api.dose.heating.diffusion_length_m": {
      "status": "from memory",
      "valid": [
        "uniform_medium"
      ],
      "constants": []
    },
    "api.dose.heating.drying_heat_j_m3": {
      "status": "computed",
      "valid": [
        "boiling"
      ],
      "constants": []
    },
    "api.dose.heating.sensible_heat_j_m3": {
      "status": "computed",
      "valid": [
        "no_boiling"
      ],
      "constants": []
    },
    "api.dose.optics.depth_of_focus_m": {
      "status": "from memory",
      "valid": [
        "has_rayleigh"
      ],
      "constants": []
    },
    "api.dose.optics.diameter_at_defocus_m": {
      "status": "from memory",
      "valid": [
        "paraxial"
      ],
      "constants": []
    },
    "api.dose.optics.half_divergence_rad": {
      "status": "from memory",
      "valid": [
        "paraxial"
      ],
      "constants": []
    },
    "api.dose.optics.half_of_full_divergence_rad": {
      "status": "computed",
      "valid": [
        "stated_cone"
      ],
      "constants": []
    },
    "api.dose.optics.rayleigh_range_from_divergence_m": {
      "status": "computed",
      "valid": [
        "hyperbola"
      ],
      "constants": []
    },
    "api.dose.optics.rayleigh_range_m": {
      "status": "from memory",
      "valid": [
        "paraxial"
      ],
      "constants": []
    },
    "api.dose.optics.tip_waist_diameter_m": {
      "status": "computed",
      "valid": [
        "lowest_mode"
      ],
      "constants": [
        "HE11_WAIST_PER_BORE"
      ]
    },
    "api.dose.optics.waist_diameter_behind_lens_m": {
      "status": "computed",
      "valid": [
        "thin_lens"
      ],
      "constants": []
    },
    "api.dose.optics.waist_position_behind_lens_m": {
      "status": "computed",
      "valid": [
        "thin_lens"
      ],
      "constants": []
    },
    "api.dose.tissue.absorption_coefficient_per_m": {
      "status": "computed",
      "valid": [
        "weak_beams"
      ],
      "constants": []
    },
    "api.dose.tissue.absorption_depth_m": {
      "status": "computed",
      "valid": [
        "absorption_dominates"
      ],
      "constants": []
    },
    "api.dose.tissue.blow_off_depth_m": {
      "status": "computed",
      "valid": [
        "confined"
      ],
      "constants": []
    },
    "api.dose.tissue.cut_depth_m": {
      "status": "computed",
      "valid": [
        "energy_balance",
        "measured_line"
      ],
      "constants": [
        "CUT_HEAT_LEAST",
        "CUT_HEAT_MOST"
      ]
    },
    "api.dose.tissue.diffusivity_m2_s": {
      "status": "computed",
      "valid": [
        "uniform_medium"
      ],
      "constants": []
    },
    "api.dose.tissue.measured_trend_depth_m": {
      "status": "printed",
      "valid": [
        "swine_tongue"
      ],
      "constants": [
        "TREND_FROM",
        "TREND_OFFSET",
        "TREND_SLOPE",
        "TREND_TO"
      ]
    },
    "api.dose.tissue.relaxation_time_s": {
      "status": "practice",
      "valid": [
        "order_of_magnitude"
      ],
      "constants": [
        "LAYER_FACTOR"
      ]
    },
    "api.dose.tissue.remaining_fraction": {
      "status": "computed",
      "valid": [
        "absorption_dominates"
      ],
      "constants": []
    },
    "api.dose.tissue.steady_depth_m": {
      "status": "computed",
      "valid": [
        "short_pulses"
      ],
      "constants": []
    },
    "api.dose.tissue.tissue_absorption_per_m": {
      "status": "computed",
      "valid": [
        "water_dominates",
        "water_nodes"
      ],
      "constants": [
        "water_extinction"
      ]
    },
    "api.dose.tissue.volume_heat_j_m3": {
      "status": "computed",
      "valid": [
        "any_medium"
      ],
      "constants": []
    },
    "api.dose.tissue.water_extinction_coefficient": {
      "status": "transcribed",
      "valid": [
        "water_nodes"
      ],
      "constants": [
        "water_extinction"
      ]
    },
    "api.dose.tissue_results.pulse_depth_band": {
      "status": "computed",
      "valid": [
        "short_pulses"
      ],
      "constants": []
    },
    "literature": {
      "status": "from memory",
      "valid": [
        "oral_tissue"
      ],
      "constants": [
        "DAMAGE_LEAST",
        "DAMAGE_MOST"
      ]
    },
    "api.dose.hazard.distances.diffuse_distance_m": {
      "status": "from memory",
      "valid": [
        "lambertian"
      ],
      "constants": []
    },
    "api.dose.hazard.distances.direct_distance_m": {
      "status": "from memory",
      "valid": [
        "far_from_waist"
      ],
      "constants": []
    },
    "api.dose.hazard.distances.lens_distance_m": {
      "status": "from memory",
      "valid": [
        "far_from_focus"
      ],
      "constants": []
    },
    "api.dose.hazard.distances.tip_distance_m": {
      "status": "computed",
      "valid": [
        "gaussian_beam"
      ],
      "constants": []
    },
    "api.dose.hazard.editions.short_retinal_j_m2": {
      "status": "from memory",
      "valid": [
        "directive_short"
      ],
      "constants": [
        "C_A_FLAT_FROM",
        "RETINAL_2006_LONG",
        "RETINAL_2006_LONG_UNTIL",
        "RETINAL_2006_SHORT",
        "RETINAL_2006_SHORT_UNTIL"
      ]
    },
    "api.dose.hazard.eyewear.accumulation_factor": {
      "status": "transcribed",
      "valid": [
        "equal_pulses"
      ],
      "constants": [
        "EN207_ACCUMULATION_EXPONENT"
      ]
    },
    "api.dose.hazard.eyewear.beam_size_factor": {
      "status": "from memory",
      "valid": [
        "glass_and_plastic"
      ],
      "constants": [
        "EN207_BEAM_LEAST",
        "EN207_BEAM_MOST",
        "EN207_GLASS_EXPONENT",
        "EN207_PLASTIC_EXPONENT"
      ]
    },
    "api.dose.hazard.eyewear.grade_continuous": {
      "status": "transcribed",
      "valid": [
        "graded_continuous"
      ],
      "constants": [
        "EN207_D_LONG_EXPONENT",
        "EN207_D_SHORT_EXPONENT",
        "EN207_GRADES",
        "EN207_LONG_FROM"
      ]
    },
    "api.dose.hazard.eyewear.grade_pulsed": {
      "status": "transcribed",
      "valid": [
        "graded_pulsed"
      ],
      "constants": [
        "EN207_GRADES",
        "EN207_IR_LONG_EXPONENT",
        "EN207_IR_SHORT_COEFFICIENT",
        "EN207_IR_SHORT_EXPONENT",
        "EN207_LONG_FROM"
      ]
    },
    "api.dose.hazard.eyewear.optical_density": {
      "status": "computed",
      "valid": [
        "any_exposure"
      ],
      "constants": []
    },
    "api.dose.hazard.eyewear.visible_class": {
      "status": "from memory",
      "valid": [
        "visible_continuous"
      ],
      "constants": [
        "CLASS_1_FROM",
        "CLASS_1_POWER",
        "CLASS_2_POWER",
        "CLASS_3B_POWER",
        "CLASS_3R_POWER"
      ]
    },
    "api.dose.hazard.limits.averaged_diameter_m": {
      "status": "transcribed",
      "valid": [
        "aperture_bands"
      ],
      "constants": [
        "EYE_APERTURE_2006_SHORT_UNTIL",
        "EYE_APERTURE_GROWTH",
        "EYE_APERTURE_GROWTH_EXPONENT",
        "EYE_APERTURE_LONG",
        "EYE_APERTURE_SHORT",
        "EYE_APERTURE_SHORT_UNTIL",
        "EYE_APERTURE_UNTIL",
        "EYE_APERTURE_VISIBLE",
        "LONG_FROM",
        "NOT_AVERAGED_BELOW",
        "RETINAL_TO",
        "SKIN_APERTURE"
      ]
    },
    "api.dose.hazard.limits.c_a": {
      "status": "transcribed",
      "valid": [
        "pigment_band"
      ],
      "constants": [
        "C_A_FLAT_FROM",
        "C_A_FLAT_TO",
        "C_A_GROWTH",
        "C_A_MOST"
      ]
    },
    "api.dose.hazard.limits.c_c": {
      "status": "transcribed",
      "valid": [
        "water_band"
      ],
      "constants": [
        "C_C_2006_LATER",
        "C_C_FLAT_TO",
        "C_C_GROWTH",
        "C_C_LATER_FROM",
        "C_C_LATER_GROWTH",
        "C_C_LATER_LEAST",
        "C_C_LATER_ZERO"
      ]
    },
    "api.dose.hazard.limits.large_area_irradiance_w_m2": {
      "status": "transcribed",
      "valid": [
        "large_skin"
      ],
      "constants": [
        "LARGE_AREA_FROM",
        "LARGE_AREA_LEAST",
        "LARGE_AREA_POWER",
        "LARGE_AREA_TO"
      ]
    },
    "api.dose.hazard.limits.limit_fluence_j_m2": {
      "status": "transcribed",
      "valid": [
        "limit_bands"
      ],
      "constants": [
        "C_A_FLAT_FROM",
        "C_A_FLAT_TO",
        "C_A_GROWTH",
        "C_A_MOST",
        "C_C_2006_LATER",
        "C_C_FLAT_TO",
        "C_C_GROWTH",
        "C_C_LATER_FROM",
        "C_C_LATER_GROWTH",
        "C_C_LATER_LEAST",
        "C_C_LATER_ZERO",
        "RETINAL_2006_FROM",
        "RETINAL_2006_LONG",
        "RETINAL_2006_LONG_UNTIL",
        "RETINAL_2006_SHORT",
        "RETINAL_2006_SHORT_UNTIL",
        "RETINAL_TO",
        "limits"
      ]
    },
    "api.dose.hazard.limits.limit_irradiance_w_m2": {
      "status": "transcribed",
      "valid": [
        "limit_bands"
      ],
      "constants": [
        "C_A_FLAT_FROM",
        "C_A_FLAT_TO",
        "C_A_GROWTH",
        "C_A_MOST",
        "C_C_2006_LATER",
        "C_C_FLAT_TO",
        "C_C_GROWTH",
        "C_C_LATER_FROM",
        "C_C_LATER_GROWTH",
        "C_C_LATER_LEAST",
        "C_C_LATER_ZERO",
        "RETINAL_2006_FROM",
        "RETINAL_2006_LONG",
        "RETINAL_2006_LONG_UNTIL",
        "RETINAL_2006_SHORT",
        "RETINAL_2006_SHORT_UNTIL",
        "RETINAL_TO",
        "limits"
      ]
    },
    "api.dose.hazard.limits.limiting_aperture_m": {
      "status": "transcribed",
      "valid": [
        "aperture_bands"
      ],
      "constants": [
        "EYE_APERTURE_2006_SHORT_UNTIL",
        "EYE_APERTURE_GROWTH",
        "EYE_APERTURE_GROWTH_EXPONENT",
        "EYE_APERTURE_LONG",
        "EYE_APERTURE_SHORT",
        "EYE_APERTURE_SHORT_UNTIL",
        "EYE_APERTURE_UNTIL",
        "EYE_APERTURE_VISIBLE",
        "LONG_FROM",
        "RETINAL_TO",
        "SKIN_APERTURE"
      ]
    },
    "api.dose.hazard.train.pulse_limits_j_m2": {
      "status": "from memory",
      "valid": [
        "equal_pulses"
      ],
      "constants": [
        "ADDING_UP_EXPONENT",
        "C_A_FLAT_FROM",
        "C_A_FLAT_TO",
        "C_A_GROWTH",
        "C_A_MOST",
        "C_C_2006_LATER",
        "C_C_FLAT_TO",
        "C_C_GROWTH",
        "C_C_LATER_FROM",
        "C_C_LATER_GROWTH",
        "C_C_LATER_LEAST",
        "C_C_LATER_ZERO",
        "RETINAL_2006_FROM",
        "RETINAL_2006_LONG",
        "RETINAL_2006_LONG_UNTIL",
        "RETINAL_2006_SHORT",
        "RETINAL_2006_SHORT_UNTIL",
        "RETINAL_TO",
        "limits"
      ]
    }
  }
} as const;

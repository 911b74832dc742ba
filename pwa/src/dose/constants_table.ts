// Generated from api/dose/constants.json by scripts/generate_constants.mjs. Do not edit.

export const TABLE = {
  "engine_version": "1.0.0",
  "numbers": {
    "GAUSSIAN_PULSE_FACTOR": {
      "value": 1.0644670194312262,
      "unit": "1"
    },
    "INVERSE_E2_PER_FWHM": {
      "value": 1.6986436005760381,
      "unit": "1"
    },
    "INVERSE_E2_PER_INVERSE_E": {
      "value": 1.4142135623730951,
      "unit": "1"
    },
    "SQRT_TWO_OVER_PI": {
      "value": 0.7978845608028654,
      "unit": "1"
    },
    "CONTRADICTION_TOLERANCE": {
      "value": 0.01,
      "unit": "1"
    },
    "PERIOD_TOLERANCE": {
      "value": 1e-9,
      "unit": "pulse periods"
    },
    "PULSES_HELD_EXACTLY": {
      "value": 1000000,
      "unit": "pulses"
    },
    "TRIANGULAR_EXTENT": {
      "value": 2,
      "unit": "pulse durations"
    },
    "GAUSSIAN_EXTENT": {
      "value": 3,
      "unit": "pulse durations"
    },
    "EXPONENTIAL_EXTENT": {
      "value": 7,
      "unit": "pulse durations"
    },
    "HE11_WAIST_PER_BORE": {
      "value": 0.643562,
      "unit": "1"
    },
    "HALF_DIVERGENCE_LIMIT": {
      "value": 0.5,
      "unit": "rad"
    },
    "TISSUE_FROM": {
      "value": 0.0000014,
      "unit": "m"
    },
    "MEASURED_WAVELENGTH": {
      "value": 0.0000106,
      "unit": "m"
    },
    "MEASURED_WAVELENGTH_MARGIN": {
      "value": 1e-7,
      "unit": "m"
    },
    "MATRIX_ABSORBS_FROM": {
      "value": 0.0000092,
      "unit": "m"
    },
    "MATRIX_ABSORBS_TO": {
      "value": 0.0000097,
      "unit": "m"
    },
    "SHORT_PULSE": {
      "value": 0.0005,
      "unit": "s"
    },
    "LAYER_FACTOR": {
      "value": 4,
      "unit": "1"
    },
    "CUT_HEAT_LEAST": {
      "value": 4000000000,
      "unit": "J/m3"
    },
    "CUT_HEAT_MOST": {
      "value": 4800000000,
      "unit": "J/m3"
    },
    "CHAR_BELOW": {
      "value": 60000000,
      "unit": "W/m2"
    },
    "ZONE_ABOVE": {
      "value": 130000000,
      "unit": "W/m2"
    },
    "TREND_SLOPE": {
      "value": 0.000491,
      "unit": "m/W"
    },
    "TREND_OFFSET": {
      "value": 0.000731,
      "unit": "m"
    },
    "TREND_FROM": {
      "value": 3,
      "unit": "W"
    },
    "TREND_TO": {
      "value": 10,
      "unit": "W"
    },
    "DAMAGE_LEAST": {
      "value": 0.000075,
      "unit": "m"
    },
    "DAMAGE_MOST": {
      "value": 0.00054,
      "unit": "m"
    },
    "COVERAGE_FACTOR": {
      "value": 2,
      "unit": "1"
    },
    "DIFFERENCE_STEP": {
      "value": 0.00001,
      "unit": "1"
    },
    "BODY_TEMPERATURE": {
      "value": 37,
      "unit": "Cel"
    },
    "BOILING_TEMPERATURE": {
      "value": 100,
      "unit": "Cel"
    },
    "KELVIN_OF_ZERO": {
      "value": 273.15,
      "unit": "K"
    },
    "LATENT_HEAT": {
      "value": 2257000,
      "unit": "J/kg"
    },
    "DAMAGE_LOG_FREQUENCY": {
      "value": 226.7847412249076,
      "unit": "ln(1/s)"
    },
    "DAMAGE_ACTIVATION": {
      "value": 75000,
      "unit": "K"
    },
    "HEAT_CELLS_PER_DEPTH": {
      "value": 16,
      "unit": "1"
    },
    "HEAT_UNIFORM_CELLS": {
      "value": 80,
      "unit": "1"
    },
    "HEAT_GROWTH": {
      "value": 1.12,
      "unit": "1"
    },
    "HEAT_REACH": {
      "value": 5,
      "unit": "1"
    },
    "HEAT_STEPS_IN_PULSE": {
      "value": 24,
      "unit": "1"
    },
    "HEAT_STEP_GROWTH": {
      "value": 1.15,
      "unit": "1"
    },
    "HEAT_STEPS_AT_MOST": {
      "value": 16000,
      "unit": "1"
    },
    "HEAT_POINTS_AT_MOST": {
      "value": 1000,
      "unit": "1"
    }
  },
  "water_extinction": {
    "what": "extinction coefficient k of water at 25 degC by wavelength in m, linear between the nodes of one range; not between ranges",
    "source": "hale1973",
    "ranges": [
      [
        [
          0.00000275,
          0.059
        ],
        [
          0.0000028,
          0.115
        ],
        [
          0.00000285,
          0.185
        ],
        [
          0.0000029,
          0.268
        ],
        [
          0.00000295,
          0.298
        ],
        [
          0.000003,
          0.272
        ]
      ],
      [
        [
          0.0000092,
          0.0415
        ],
        [
          0.0000094,
          0.0433
        ],
        [
          0.0000096,
          0.0454
        ],
        [
          0.0000098,
          0.0479
        ],
        [
          0.00001,
          0.0508
        ],
        [
          0.0000105,
          0.0662
        ],
        [
          0.000011,
          0.0968
        ]
      ]
    ]
  },
  "tissues": {
    "oral mucosa": {
      "water_fraction": {
        "value": 0.7,
        "source": "practice"
      },
      "density": {
        "value": 1060,
        "source": "practice"
      },
      "specific_heat": {
        "value": 3600,
        "source": "practice"
      },
      "conductivity": {
        "value": 0.5,
        "source": "practice"
      },
      "ablation_threshold": {
        "value": 11500,
        "source": "payne1997"
      },
      "ablation_heat": {
        "value": 3740000,
        "source": "payne1997"
      }
    }
  },
  "quantities": {
    "wavelength": {
      "dimension": "m",
      "least": 1e-7,
      "most": 0.001,
      "text": "100 nm to 1 mm"
    },
    "emission.power": {
      "dimension": "W",
      "least": 0.000001,
      "most": 1000000000,
      "text": "1 µW to 1 GW"
    },
    "emission.average_power": {
      "dimension": "W",
      "least": 0.000001,
      "most": 1000000000,
      "text": "1 µW to 1 GW"
    },
    "emission.peak_power": {
      "dimension": "W",
      "least": 0.000001,
      "most": 1000000000,
      "text": "1 µW to 1 GW"
    },
    "emission.pulse_energy": {
      "dimension": "J",
      "least": 1e-9,
      "most": 1000000,
      "text": "1 nJ to 1 MJ"
    },
    "emission.pulse_duration": {
      "dimension": "s",
      "least": 1e-12,
      "most": 1000,
      "text": "1 ps to 1000 s"
    },
    "emission.repetition_rate": {
      "dimension": "Hz",
      "least": 0.001,
      "most": 1000000000,
      "text": "0.001 Hz to 1 GHz"
    },
    "emission.pulse_period": {
      "dimension": "s",
      "least": 1e-9,
      "most": 1000,
      "text": "1 ns to 1000 s"
    },
    "emission.duty_cycle": {
      "dimension": "1",
      "least": 1e-9,
      "most": 1,
      "text": "0.000000001 to 1"
    },
    "emission.gate_on": {
      "dimension": "s",
      "least": 0.000001,
      "most": 1000,
      "text": "1 µs to 1000 s"
    },
    "emission.gate_off": {
      "dimension": "s",
      "least": 0,
      "most": 1000,
      "text": "0 s to 1000 s"
    },
    "delivery.verified_ratio": {
      "dimension": "1",
      "least": 0.01,
      "most": 2,
      "text": "0.01 to 2"
    },
    "delivery.verified_ratio_uncertainty": {
      "dimension": "1",
      "least": 0,
      "most": 1,
      "text": "0 to 1"
    },
    "spot.diameter": {
      "dimension": "m",
      "least": 0.000001,
      "most": 1,
      "text": "1 µm to 1 m"
    },
    "spot.focal_length": {
      "dimension": "m",
      "least": 0.0001,
      "most": 10,
      "text": "0.1 mm to 10 m"
    },
    "spot.beam_diameter_at_lens": {
      "dimension": "m",
      "least": 0.00001,
      "most": 1,
      "text": "10 µm to 1 m"
    },
    "spot.beam_quality_m2": {
      "dimension": "1",
      "least": 1,
      "most": 1000,
      "text": "1 to 1000"
    },
    "spot.defocus": {
      "dimension": "m",
      "least": 0,
      "most": 10,
      "text": "0 m to 10 m"
    },
    "spot.waist_diameter": {
      "dimension": "m",
      "least": 0.000001,
      "most": 1,
      "text": "1 µm to 1 m"
    },
    "spot.bore_diameter": {
      "dimension": "m",
      "least": 0.00001,
      "most": 0.1,
      "text": "10 µm to 0.1 m"
    },
    "spot.distance": {
      "dimension": "m",
      "least": 0,
      "most": 10,
      "text": "0 m to 10 m"
    },
    "spot.full_divergence": {
      "dimension": "rad",
      "least": 0.000001,
      "most": 1,
      "text": "1 µrad to 1 rad"
    },
    "motion.speed": {
      "dimension": "m/s",
      "least": 0.000001,
      "most": 100,
      "text": "1 µm/s to 100 m/s"
    },
    "emission_time": {
      "dimension": "s",
      "least": 0.000001,
      "most": 86400,
      "text": "1 µs to 24 h"
    },
    "delivery.mirror_count": {
      "dimension": "1",
      "least": 0,
      "most": 20,
      "text": "0 to 20"
    },
    "delivery.mirror_reflectance": {
      "dimension": "1",
      "least": 0.1,
      "most": 1,
      "text": "0.1 to 1"
    },
    "delivery.lens_transmittance": {
      "dimension": "1",
      "least": 0.1,
      "most": 1,
      "text": "0.1 to 1"
    },
    "delivery.window_transmittance": {
      "dimension": "1",
      "least": 0.1,
      "most": 1,
      "text": "0.1 to 1"
    },
    "delivery.contamination_transmittance": {
      "dimension": "1",
      "least": 0.1,
      "most": 1,
      "text": "0.1 to 1"
    },
    "delivery.loss": {
      "dimension": "dB",
      "least": 0,
      "most": 20,
      "text": "0 dB to 20 dB"
    },
    "tissue.water_fraction": {
      "dimension": "1",
      "least": 0.05,
      "most": 1,
      "text": "0.05 to 1"
    },
    "tissue.density": {
      "dimension": "kg/m^3",
      "least": 500,
      "most": 2500,
      "text": "500 kg/m^3 to 2500 kg/m^3"
    },
    "tissue.specific_heat": {
      "dimension": "J/kg/K",
      "least": 500,
      "most": 5000,
      "text": "500 J/kg/K to 5000 J/kg/K"
    },
    "tissue.conductivity": {
      "dimension": "W/m/K",
      "least": 0.05,
      "most": 5,
      "text": "0.05 W/m/K to 5 W/m/K"
    },
    "tissue.ablation_threshold": {
      "dimension": "J/m^2",
      "least": 100,
      "most": 1000000,
      "text": "0.01 J/cm^2 to 100 J/cm^2"
    },
    "tissue.ablation_heat": {
      "dimension": "J/kg",
      "least": 100000,
      "most": 100000000,
      "text": "100 J/g to 100000 J/g"
    },
    "duration": {
      "dimension": "s",
      "least": 0.000001,
      "most": 60,
      "text": "1 µs to 60 s"
    }
  },
  "dimensions": {
    "1": "a pure number, such as \"0.56\" or \"56 %\"",
    "W": "a power, such as \"4.5 W\"",
    "J": "an energy, such as \"33 mJ\"",
    "s": "a time, such as \"400 us\"",
    "Hz": "a rate, such as \"140 Hz\"",
    "m": "a length, such as \"0.25 mm\"",
    "m/s": "a speed, such as \"5 mm/s\"",
    "rad": "an angle, such as \"100 mrad\" or \"6 deg\"",
    "dB": "a loss, such as \"0.5 dB\"",
    "kg/m^3": "a density, such as \"1.06 g/cm^3\"",
    "J/kg/K": "a specific heat, such as \"3600 J/kg/K\"",
    "W/m/K": "a conductivity, such as \"0.5 W/m/K\"",
    "J/m^2": "an energy on an area, such as \"1.15 J/cm^2\"",
    "J/kg": "an energy for a mass, such as \"3740 J/g\"",
    "m^2": "an area, such as \"100 cm^2\""
  },
  "results": {
    "average_power": {
      "label": "average power",
      "unit": "W",
      "per_si": 1,
      "needs": "emission",
      "sources": [
        "iso11145"
      ]
    },
    "peak_power": {
      "label": "peak power",
      "unit": "W",
      "per_si": 1,
      "needs": "emission",
      "sources": [
        "iso11145"
      ]
    },
    "pulse_energy": {
      "label": "pulse energy",
      "unit": "J",
      "per_si": 1,
      "needs": "pulses",
      "sources": [
        "iso11145"
      ]
    },
    "pulse_duration": {
      "label": "pulse duration",
      "unit": "s",
      "per_si": 1,
      "needs": "pulses",
      "sources": [
        "iso11145"
      ]
    },
    "repetition_rate": {
      "label": "repetition rate",
      "unit": "Hz",
      "per_si": 1,
      "needs": "pulses",
      "sources": [
        "iso11145"
      ]
    },
    "pulse_period": {
      "label": "pulse period",
      "unit": "s",
      "per_si": 1,
      "needs": "pulses",
      "sources": [
        "iso11145"
      ]
    },
    "duty_cycle": {
      "label": "duty cycle",
      "unit": "1",
      "per_si": 1,
      "needs": "pulses",
      "sources": [
        "iso11145"
      ]
    },
    "off_time": {
      "label": "time between pulses",
      "unit": "s",
      "per_si": 1,
      "needs": "pulses",
      "sources": [
        "definition"
      ]
    },
    "pulses_started_per_gate": {
      "label": "pulses started in a gate",
      "unit": "1",
      "per_si": 1,
      "needs": "gate pulses",
      "sources": [
        "definition"
      ]
    },
    "pulses_complete_per_gate": {
      "label": "complete pulses in a gate",
      "unit": "1",
      "per_si": 1,
      "needs": "gate pulses",
      "sources": [
        "definition"
      ]
    },
    "gate_energy": {
      "label": "energy in a gate",
      "unit": "J",
      "per_si": 1,
      "needs": "gate",
      "sources": [
        "definition"
      ]
    },
    "spot_diameter": {
      "label": "spot diameter (1/e²)",
      "unit": "mm",
      "per_si": 1000,
      "needs": "spot",
      "sources": [
        "siegman1986"
      ]
    },
    "waist_diameter": {
      "label": "waist diameter (1/e²)",
      "unit": "mm",
      "per_si": 1000,
      "needs": "optics",
      "sources": [
        "siegman1986"
      ]
    },
    "waist_position": {
      "label": "waist position",
      "unit": "mm",
      "per_si": 1000,
      "needs": "optics lens",
      "sources": [
        "siegman1986"
      ]
    },
    "rayleigh_range": {
      "label": "Rayleigh range",
      "unit": "mm",
      "per_si": 1000,
      "needs": "optics",
      "sources": [
        "siegman1986",
        "iso11146"
      ]
    },
    "depth_of_focus": {
      "label": "depth of focus",
      "unit": "mm",
      "per_si": 1000,
      "needs": "optics",
      "sources": [
        "siegman1986"
      ]
    },
    "half_divergence": {
      "label": "half divergence",
      "unit": "mrad",
      "per_si": 1000,
      "needs": "optics",
      "sources": [
        "siegman1986",
        "iso11146"
      ]
    },
    "irradiance_mean": {
      "label": "irradiance, mean over the spot",
      "unit": "W/cm2",
      "per_si": 0.0001,
      "needs": "spot",
      "sources": [
        "iso11145",
        "monteiro2012"
      ]
    },
    "irradiance_peak": {
      "label": "irradiance, centre of a Gaussian spot",
      "unit": "W/cm2",
      "per_si": 0.0001,
      "needs": "spot",
      "sources": [
        "siegman1986"
      ]
    },
    "pulse_irradiance_mean": {
      "label": "irradiance in the pulse, mean over the spot",
      "unit": "W/cm2",
      "per_si": 0.0001,
      "needs": "spot pulse power",
      "sources": [
        "iso11145"
      ]
    },
    "pulse_irradiance_peak": {
      "label": "irradiance in the pulse, centre of a Gaussian spot",
      "unit": "W/cm2",
      "per_si": 0.0001,
      "needs": "spot pulse power",
      "sources": [
        "siegman1986"
      ]
    },
    "fluence_mean": {
      "label": "fluence of one pulse, mean over the spot",
      "unit": "J/cm2",
      "per_si": 0.0001,
      "needs": "spot pulses",
      "sources": [
        "iso11145"
      ]
    },
    "fluence_peak": {
      "label": "fluence of one pulse, centre of a Gaussian spot",
      "unit": "J/cm2",
      "per_si": 0.0001,
      "needs": "spot pulses",
      "sources": [
        "siegman1986"
      ]
    },
    "dwell_time": {
      "label": "dwell time",
      "unit": "s",
      "per_si": 1,
      "needs": "spot motion",
      "sources": [
        "definition"
      ]
    },
    "pulses_per_spot": {
      "label": "pulses on one place",
      "unit": "1",
      "per_si": 1,
      "needs": "spot motion steady pulses",
      "sources": [
        "definition"
      ]
    },
    "overlap": {
      "label": "overlap",
      "unit": "1",
      "per_si": 1,
      "needs": "spot motion steady pulses",
      "sources": [
        "definition"
      ]
    },
    "line_energy": {
      "label": "energy per length",
      "unit": "J/mm",
      "per_si": 0.001,
      "needs": "motion",
      "sources": [
        "definition"
      ]
    },
    "track_fluence_mean": {
      "label": "fluence on the track, even spot",
      "unit": "J/cm2",
      "per_si": 0.0001,
      "needs": "spot motion",
      "sources": [
        "definition"
      ]
    },
    "track_fluence_peak": {
      "label": "fluence on the track, Gaussian spot",
      "unit": "J/cm2",
      "per_si": 0.0001,
      "needs": "spot motion",
      "sources": [
        "siegman1986"
      ]
    },
    "total_energy": {
      "label": "total energy",
      "unit": "J",
      "per_si": 1,
      "needs": "time",
      "sources": [
        "definition"
      ]
    },
    "absorption_coefficient": {
      "label": "absorption coefficient",
      "unit": "/cm",
      "per_si": 0.01,
      "needs": "tissue",
      "sources": [
        "hale1973"
      ]
    },
    "absorption_depth": {
      "label": "absorption depth",
      "unit": "um",
      "per_si": 1000000,
      "needs": "tissue",
      "sources": [
        "hale1973"
      ]
    },
    "thermal_relaxation_time": {
      "label": "thermal relaxation time",
      "unit": "s",
      "per_si": 1,
      "needs": "tissue",
      "sources": [
        "practice"
      ],
      "note": "for a layer as thick as the absorption depth, by which the factor is 4"
    },
    "pulse_depth": {
      "label": "depth of one pulse",
      "unit": "um",
      "per_si": 1000000,
      "needs": "tissue spot pulses",
      "sources": [
        "payne1997"
      ],
      "note": "from steady state to blow-off, with the mean fluence of one pulse"
    },
    "cut_depth": {
      "label": "cut depth",
      "unit": "mm",
      "per_si": 1000,
      "needs": "tissue spot motion",
      "sources": [
        "walsh1989",
        "payne1997"
      ],
      "note": "ideal energy balance, not for judging the distance to bone, nerve, vessel or tooth"
    },
    "thermal_damage": {
      "label": "thermal damage",
      "unit": "um",
      "per_si": 1000000,
      "needs": "tissue",
      "sources": [
        "suter2017",
        "tongue2014",
        "damagerange"
      ],
      "note": "literature range, not computed from these settings"
    },
    "delivered_fraction": {
      "label": "delivered fraction",
      "unit": "1",
      "per_si": 1,
      "needs": "verification",
      "sources": [
        "definition"
      ]
    },
    "design_transmission": {
      "label": "transmission by design",
      "unit": "1",
      "per_si": 1,
      "needs": "verification",
      "sources": [
        "definition"
      ]
    },
    "verified_ratio_uncertainty": {
      "label": "standard uncertainty of the verified ratio",
      "unit": "1",
      "per_si": 1,
      "needs": "verification",
      "sources": []
    }
  },
  "formula_sources": {
    "api.dose.optics.tip_waist_diameter_m": [
      "abrams1972"
    ],
    "api.dose.optics.rayleigh_range_from_divergence_m": [
      "definition"
    ],
    "api.dose.optics.half_of_full_divergence_rad": [
      "definition"
    ]
  },
  "display": {
    "significant_digits": 3,
    "noise_digits": 12,
    "as_percent": [
      "duty_cycle",
      "overlap",
      "delivered_fraction",
      "design_transmission",
      "verified_ratio_uncertainty"
    ],
    "whole": [
      "pulses_started_per_gate",
      "pulses_complete_per_gate"
    ],
    "scales": {
      "1": [
        {
          "from": -400,
          "shift": 0,
          "label": ""
        }
      ],
      "W": [
        {
          "from": 7,
          "shift": -6,
          "label": "MW"
        },
        {
          "from": 4,
          "shift": -3,
          "label": "kW"
        },
        {
          "from": -1,
          "shift": 0,
          "label": "W"
        },
        {
          "from": -3,
          "shift": 3,
          "label": "mW"
        },
        {
          "from": -6,
          "shift": 6,
          "label": "µW"
        },
        {
          "from": -400,
          "shift": 9,
          "label": "nW"
        }
      ],
      "J": [
        {
          "from": 4,
          "shift": -3,
          "label": "kJ"
        },
        {
          "from": -1,
          "shift": 0,
          "label": "J"
        },
        {
          "from": -3,
          "shift": 3,
          "label": "mJ"
        },
        {
          "from": -6,
          "shift": 6,
          "label": "µJ"
        },
        {
          "from": -400,
          "shift": 9,
          "label": "nJ"
        }
      ],
      "s": [
        {
          "from": -1,
          "shift": 0,
          "label": "s"
        },
        {
          "from": -3,
          "shift": 3,
          "label": "ms"
        },
        {
          "from": -6,
          "shift": 6,
          "label": "µs"
        },
        {
          "from": -400,
          "shift": 9,
          "label": "ns"
        }
      ],
      "Hz": [
        {
          "from": 7,
          "shift": -6,
          "label": "MHz"
        },
        {
          "from": 4,
          "shift": -3,
          "label": "kHz"
        },
        {
          "from": -400,
          "shift": 0,
          "label": "Hz"
        }
      ],
      "mm": [
        {
          "from": -1,
          "shift": 0,
          "label": "mm"
        },
        {
          "from": -400,
          "shift": 3,
          "label": "µm"
        }
      ],
      "mrad": [
        {
          "from": -400,
          "shift": 0,
          "label": "mrad"
        }
      ],
      "W/cm2": [
        {
          "from": 7,
          "shift": -6,
          "label": "MW/cm²"
        },
        {
          "from": 4,
          "shift": -3,
          "label": "kW/cm²"
        },
        {
          "from": -1,
          "shift": 0,
          "label": "W/cm²"
        },
        {
          "from": -400,
          "shift": 3,
          "label": "mW/cm²"
        }
      ],
      "J/cm2": [
        {
          "from": 4,
          "shift": -3,
          "label": "kJ/cm²"
        },
        {
          "from": -1,
          "shift": 0,
          "label": "J/cm²"
        },
        {
          "from": -400,
          "shift": 3,
          "label": "mJ/cm²"
        }
      ],
      "J/mm": [
        {
          "from": -1,
          "shift": 0,
          "label": "J/mm"
        },
        {
          "from": -400,
          "shift": 3,
          "label": "mJ/mm"
        }
      ],
      "/cm": [
        {
          "from": -400,
          "shift": 0,
          "label": "/cm"
        }
      ],
      "um": [
        {
          "from": -400,
          "shift": 0,
          "label": "µm"
        }
      ],
      "%": [
        {
          "from": -400,
          "shift": 2,
          "label": "%"
        }
      ]
    }
  }
} as const;

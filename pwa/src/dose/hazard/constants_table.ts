// Generated from api/dose/hazard/constants.json by scripts/generate_constants.mjs. Do not edit.

export const TABLE = {
  "quantities": {
    "wavelength": {
      "dimension": "m",
      "least": 4e-7,
      "most": 0.001,
      "text": "400 nm to 1 mm"
    },
    "exposure_time": {
      "dimension": "s",
      "least": 1e-11,
      "most": 30000,
      "text": "10 ps to 30000 s"
    },
    "emission.power": {
      "dimension": "W",
      "least": 0.000001,
      "most": 1000000000,
      "text": "1 µW to 1 GW"
    },
    "emission.pulse_energy": {
      "dimension": "J",
      "least": 1e-12,
      "most": 1000000,
      "text": "1 pJ to 1 MJ"
    },
    "emission.pulse_duration": {
      "dimension": "s",
      "least": 1e-11,
      "most": 30000,
      "text": "10 ps to 30000 s"
    },
    "emission.repetition_rate": {
      "dimension": "Hz",
      "least": 0.001,
      "most": 1000000000,
      "text": "1 mHz to 1 GHz"
    },
    "beam.diameter": {
      "dimension": "m",
      "least": 0,
      "most": 1,
      "text": "0 m to 1 m"
    },
    "beam.full_divergence": {
      "dimension": "rad",
      "least": 0.000001,
      "most": 3,
      "text": "1 µrad to 3 rad"
    },
    "lens.focal_length": {
      "dimension": "m",
      "least": 0.001,
      "most": 10,
      "text": "1 mm to 10 m"
    },
    "lens.beam_diameter": {
      "dimension": "m",
      "least": 0.00001,
      "most": 1,
      "text": "10 µm to 1 m"
    },
    "tip.diameter": {
      "dimension": "m",
      "least": 0.000001,
      "most": 0.1,
      "text": "1 µm to 100 mm"
    },
    "tip.full_divergence": {
      "dimension": "rad",
      "least": 0.000001,
      "most": 3,
      "text": "1 µrad to 3 rad"
    },
    "reflection.reflectance": {
      "dimension": "1",
      "least": 0,
      "most": 1,
      "text": "0 to 1"
    },
    "reflection.angle": {
      "dimension": "rad",
      "least": 0,
      "most": 1.5707963267948966,
      "text": "0 deg to 90 deg"
    },
    "skin.exposed_area": {
      "dimension": "m^2",
      "least": 0.000001,
      "most": 2,
      "text": "1 mm^2 to 2 m^2"
    }
  },
  "results": {
    "exposure_limit_irradiance": {
      "label": "exposure limit, irradiance",
      "unit": "W/m2",
      "per_si": 1,
      "sources": [
        "icnirp2013"
      ]
    },
    "exposure_limit_fluence": {
      "label": "exposure limit, radiant exposure",
      "unit": "J/m2",
      "per_si": 1,
      "sources": [
        "icnirp2013"
      ]
    },
    "limiting_aperture": {
      "label": "limiting aperture",
      "unit": "mm",
      "per_si": 1000,
      "sources": [
        "icnirp2013"
      ]
    },
    "direct_distance": {
      "label": "hazard distance, direct beam",
      "unit": "m",
      "per_si": 1,
      "sources": [
        "iec60825"
      ]
    },
    "lens_distance": {
      "label": "hazard distance behind the lens",
      "unit": "m",
      "per_si": 1,
      "sources": [
        "iec60825"
      ]
    },
    "tip_distance": {
      "label": "hazard distance from the tip",
      "unit": "m",
      "per_si": 1,
      "sources": [
        "definition"
      ]
    },
    "diffuse_distance": {
      "label": "hazard distance, diffuse reflection",
      "unit": "m",
      "per_si": 1,
      "sources": [
        "iec60825"
      ]
    },
    "skin_distance": {
      "label": "hazard distance for skin, direct beam",
      "unit": "m",
      "per_si": 1,
      "sources": [
        "iec60825"
      ]
    },
    "optical_density": {
      "label": "optical density",
      "unit": "1",
      "per_si": 1,
      "sources": [
        "definition"
      ]
    },
    "en207_d": {
      "label": "protection grade, continuous (D)",
      "unit": "1",
      "per_si": 1,
      "sources": [
        "en207"
      ]
    },
    "en207_ir": {
      "label": "protection grade, pulsed (I, R)",
      "unit": "1",
      "per_si": 1,
      "sources": [
        "en207"
      ]
    },
    "aiming_beam_class": {
      "label": "class of a visible beam",
      "unit": "",
      "per_si": 1,
      "sources": [
        "iec60825"
      ]
    }
  },
  "numbers": {
    "EYE_APERTURE_VISIBLE": {
      "value": 0.007,
      "unit": "m"
    },
    "SKIN_APERTURE": {
      "value": 0.0035,
      "unit": "m"
    },
    "EYE_APERTURE_SHORT": {
      "value": 0.001,
      "unit": "m"
    },
    "EYE_APERTURE_SHORT_UNTIL": {
      "value": 0.35,
      "unit": "s"
    },
    "EYE_APERTURE_GROWTH": {
      "value": 0.0015,
      "unit": "m/s^(3/8)"
    },
    "EYE_APERTURE_LONG": {
      "value": 0.0035,
      "unit": "m"
    },
    "EYE_APERTURE_UNTIL": {
      "value": 0.0001,
      "unit": "m"
    },
    "NOT_AVERAGED_BELOW": {
      "value": 0.001,
      "unit": "m"
    },
    "LARGE_AREA_FROM": {
      "value": 0.01,
      "unit": "m^2"
    },
    "LARGE_AREA_TO": {
      "value": 0.1,
      "unit": "m^2"
    },
    "LARGE_AREA_POWER": {
      "value": 10,
      "unit": "W"
    },
    "LARGE_AREA_LEAST": {
      "value": 100,
      "unit": "W/m^2"
    },
    "BLUE_LIGHT_BELOW": {
      "value": 6e-7,
      "unit": "m"
    },
    "EN207_BEAM_LEAST": {
      "value": 1,
      "unit": "mm"
    },
    "EN207_BEAM_MOST": {
      "value": 15,
      "unit": "mm"
    },
    "EN207_GLASS_EXPONENT": {
      "value": 1.7,
      "unit": "1"
    },
    "EN207_PLASTIC_EXPONENT": {
      "value": 1.1693,
      "unit": "1"
    },
    "EN207_GRADES": {
      "value": 10,
      "unit": "1"
    },
    "CLASS_1_POWER": {
      "value": 0.00039,
      "unit": "W"
    },
    "CLASS_2_POWER": {
      "value": 0.001,
      "unit": "W"
    },
    "CLASS_3R_POWER": {
      "value": 0.005,
      "unit": "W"
    },
    "CLASS_3B_POWER": {
      "value": 0.5,
      "unit": "W"
    },
    "C_A_FLAT_TO": {
      "value": 700,
      "unit": "nm"
    },
    "C_A_GROWTH": {
      "value": 0.002,
      "unit": "1/nm"
    },
    "C_A_FLAT_FROM": {
      "value": 1050,
      "unit": "nm"
    },
    "C_A_MOST": {
      "value": 5,
      "unit": "1"
    },
    "C_C_FLAT_TO": {
      "value": 1150,
      "unit": "nm"
    },
    "C_C_GROWTH": {
      "value": 0.018,
      "unit": "1/nm"
    },
    "C_C_LATER_FROM": {
      "value": 1200,
      "unit": "nm"
    },
    "C_C_LATER_LEAST": {
      "value": 8,
      "unit": "1"
    },
    "C_C_LATER_GROWTH": {
      "value": 0.04,
      "unit": "1/nm"
    },
    "C_C_LATER_ZERO": {
      "value": 1250,
      "unit": "nm"
    },
    "RETINAL_TO": {
      "value": 0.0000014,
      "unit": "m"
    },
    "LONG_FROM": {
      "value": 10,
      "unit": "s"
    },
    "ADDING_UP_EXPONENT": {
      "value": 0.25,
      "unit": "1"
    },
    "EYE_APERTURE_GROWTH_EXPONENT": {
      "value": 0.375,
      "unit": "1"
    },
    "VISIBLE_TO": {
      "value": 7e-7,
      "unit": "m"
    },
    "CLASS_1_FROM": {
      "value": 5e-7,
      "unit": "m"
    },
    "EN207_LONG_FROM": {
      "value": 0.0000014,
      "unit": "m"
    },
    "EN207_D_SHORT_EXPONENT": {
      "value": 1,
      "unit": "1"
    },
    "EN207_D_LONG_EXPONENT": {
      "value": 3,
      "unit": "1"
    },
    "EN207_IR_SHORT_EXPONENT": {
      "value": 3,
      "unit": "1"
    },
    "EN207_IR_SHORT_COEFFICIENT": {
      "value": 5,
      "unit": "J/m^2"
    },
    "EN207_IR_LONG_EXPONENT": {
      "value": 2,
      "unit": "1"
    },
    "EN207_PULSE_LEAST": {
      "value": 1e-9,
      "unit": "s"
    },
    "EN207_PULSE_MOST": {
      "value": 0.25,
      "unit": "s"
    },
    "EN207_ACCUMULATION_EXPONENT": {
      "value": 0.25,
      "unit": "1"
    },
    "C_C_2006_LATER": {
      "value": 8,
      "unit": "1"
    },
    "RETINAL_2006_FROM": {
      "value": 1e-9,
      "unit": "s"
    },
    "RETINAL_2006_SHORT": {
      "value": 0.005,
      "unit": "J/m^2"
    },
    "RETINAL_2006_SHORT_UNTIL": {
      "value": 0.000018,
      "unit": "s"
    },
    "RETINAL_2006_LONG": {
      "value": 0.05,
      "unit": "J/m^2"
    },
    "RETINAL_2006_LONG_UNTIL": {
      "value": 0.00005,
      "unit": "s"
    },
    "EYE_APERTURE_2006_SHORT_UNTIL": {
      "value": 0.3,
      "unit": "s"
    }
  },
  "limits": {
    "source": "icnirp2013",
    "eye": [
      {
        "from_m": 4e-7,
        "to_m": 0.00000105,
        "from_s": 1e-11,
        "to_s": 0.000005,
        "kind": "fluence",
        "coefficient": 0.002,
        "exponent": 0,
        "factor": "C_A",
        "thermal": false
      },
      {
        "from_m": 4e-7,
        "to_m": 0.00000105,
        "from_s": 0.000005,
        "to_s": 10,
        "kind": "fluence",
        "coefficient": 18,
        "exponent": 0.75,
        "factor": "C_A",
        "thermal": true
      },
      {
        "from_m": 4e-7,
        "to_m": 0.00000105,
        "from_s": 10,
        "to_s": 30000,
        "kind": "irradiance",
        "coefficient": 10,
        "exponent": 0,
        "factor": "C_A",
        "thermal": true
      },
      {
        "from_m": 0.00000105,
        "to_m": 0.0000014,
        "from_s": 1e-11,
        "to_s": 0.000013,
        "kind": "fluence",
        "coefficient": 0.02,
        "exponent": 0,
        "factor": "C_C",
        "thermal": false
      },
      {
        "from_m": 0.00000105,
        "to_m": 0.0000014,
        "from_s": 0.000013,
        "to_s": 10,
        "kind": "fluence",
        "coefficient": 90,
        "exponent": 0.75,
        "factor": "C_C",
        "thermal": true
      },
      {
        "from_m": 0.00000105,
        "to_m": 0.0000014,
        "from_s": 10,
        "to_s": 30000,
        "kind": "irradiance",
        "coefficient": 50,
        "exponent": 0,
        "factor": "C_C",
        "thermal": true
      },
      {
        "from_m": 0.0000014,
        "to_m": 0.0000015,
        "from_s": 1e-9,
        "to_s": 0.001,
        "kind": "fluence",
        "coefficient": 1000,
        "exponent": 0,
        "factor": "1",
        "thermal": false
      },
      {
        "from_m": 0.0000014,
        "to_m": 0.0000015,
        "from_s": 0.001,
        "to_s": 10,
        "kind": "fluence",
        "coefficient": 5600,
        "exponent": 0.25,
        "factor": "1",
        "thermal": true
      },
      {
        "from_m": 0.0000014,
        "to_m": 0.0000015,
        "from_s": 10,
        "to_s": 30000,
        "kind": "irradiance",
        "coefficient": 1000,
        "exponent": 0,
        "factor": "1",
        "thermal": true
      },
      {
        "from_m": 0.0000015,
        "to_m": 0.0000018,
        "from_s": 1e-9,
        "to_s": 10,
        "kind": "fluence",
        "coefficient": 10000,
        "exponent": 0,
        "factor": "1",
        "thermal": true
      },
      {
        "from_m": 0.0000015,
        "to_m": 0.0000018,
        "from_s": 10,
        "to_s": 30000,
        "kind": "irradiance",
        "coefficient": 1000,
        "exponent": 0,
        "factor": "1",
        "thermal": true
      },
      {
        "from_m": 0.0000018,
        "to_m": 0.0000026,
        "from_s": 1e-9,
        "to_s": 0.001,
        "kind": "fluence",
        "coefficient": 1000,
        "exponent": 0,
        "factor": "1",
        "thermal": false
      },
      {
        "from_m": 0.0000018,
        "to_m": 0.0000026,
        "from_s": 0.001,
        "to_s": 10,
        "kind": "fluence",
        "coefficient": 5600,
        "exponent": 0.25,
        "factor": "1",
        "thermal": true
      },
      {
        "from_m": 0.0000018,
        "to_m": 0.0000026,
        "from_s": 10,
        "to_s": 30000,
        "kind": "irradiance",
        "coefficient": 1000,
        "exponent": 0,
        "factor": "1",
        "thermal": true
      },
      {
        "from_m": 0.0000026,
        "to_m": 0.001,
        "from_s": 1e-9,
        "to_s": 1e-7,
        "kind": "fluence",
        "coefficient": 100,
        "exponent": 0,
        "factor": "1",
        "thermal": false
      },
      {
        "from_m": 0.0000026,
        "to_m": 0.001,
        "from_s": 1e-7,
        "to_s": 10,
        "kind": "fluence",
        "coefficient": 5600,
        "exponent": 0.25,
        "factor": "1",
        "thermal": true
      },
      {
        "from_m": 0.0000026,
        "to_m": 0.001,
        "from_s": 10,
        "to_s": 30000,
        "kind": "irradiance",
        "coefficient": 1000,
        "exponent": 0,
        "factor": "1",
        "thermal": true
      }
    ],
    "skin": [
      {
        "from_m": 4e-7,
        "to_m": 0.0000014,
        "from_s": 1e-9,
        "to_s": 1e-7,
        "kind": "fluence",
        "coefficient": 200,
        "exponent": 0,
        "factor": "C_A",
        "thermal": false
      },
      {
        "from_m": 4e-7,
        "to_m": 0.0000014,
        "from_s": 1e-7,
        "to_s": 10,
        "kind": "fluence",
        "coefficient": 11000,
        "exponent": 0.25,
        "factor": "C_A",
        "thermal": true
      },
      {
        "from_m": 4e-7,
        "to_m": 0.0000014,
        "from_s": 10,
        "to_s": 30000,
        "kind": "irradiance",
        "coefficient": 2000,
        "exponent": 0,
        "factor": "C_A",
        "thermal": true
      },
      {
        "from_m": 0.0000014,
        "to_m": 0.0000015,
        "from_s": 1e-9,
        "to_s": 0.001,
        "kind": "fluence",
        "coefficient": 1000,
        "exponent": 0,
        "factor": "1",
        "thermal": false
      },
      {
        "from_m": 0.0000014,
        "to_m": 0.0000015,
        "from_s": 0.001,
        "to_s": 10,
        "kind": "fluence",
        "coefficient": 5600,
        "exponent": 0.25,
        "factor": "1",
        "thermal": true
      },
      {
        "from_m": 0.0000014,
        "to_m": 0.0000015,
        "from_s": 10,
        "to_s": 30000,
        "kind": "irradiance",
        "coefficient": 1000,
        "exponent": 0,
        "factor": "1",
        "thermal": true
      },
      {
        "from_m": 0.0000015,
        "to_m": 0.0000018,
        "from_s": 1e-9,
        "to_s": 10,
        "kind": "fluence",
        "coefficient": 10000,
        "exponent": 0,
        "factor": "1",
        "thermal": true
      },
      {
        "from_m": 0.0000015,
        "to_m": 0.0000018,
        "from_s": 10,
        "to_s": 30000,
        "kind": "irradiance",
        "coefficient": 1000,
        "exponent": 0,
        "factor": "1",
        "thermal": true
      },
      {
        "from_m": 0.0000018,
        "to_m": 0.0000026,
        "from_s": 1e-9,
        "to_s": 0.001,
        "kind": "fluence",
        "coefficient": 1000,
        "exponent": 0,
        "factor": "1",
        "thermal": false
      },
      {
        "from_m": 0.0000018,
        "to_m": 0.0000026,
        "from_s": 0.001,
        "to_s": 10,
        "kind": "fluence",
        "coefficient": 5600,
        "exponent": 0.25,
        "factor": "1",
        "thermal": true
      },
      {
        "from_m": 0.0000018,
        "to_m": 0.0000026,
        "from_s": 10,
        "to_s": 30000,
        "kind": "irradiance",
        "coefficient": 1000,
        "exponent": 0,
        "factor": "1",
        "thermal": true
      },
      {
        "from_m": 0.0000026,
        "to_m": 0.001,
        "from_s": 1e-9,
        "to_s": 1e-7,
        "kind": "fluence",
        "coefficient": 100,
        "exponent": 0,
        "factor": "1",
        "thermal": false
      },
      {
        "from_m": 0.0000026,
        "to_m": 0.001,
        "from_s": 1e-7,
        "to_s": 10,
        "kind": "fluence",
        "coefficient": 5600,
        "exponent": 0.25,
        "factor": "1",
        "thermal": true
      },
      {
        "from_m": 0.0000026,
        "to_m": 0.001,
        "from_s": 10,
        "to_s": 30000,
        "kind": "irradiance",
        "coefficient": 1000,
        "exponent": 0,
        "factor": "1",
        "thermal": true
      }
    ]
  }
} as const;

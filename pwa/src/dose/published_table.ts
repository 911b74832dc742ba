// Generated from api/dose/published_settings.json by scripts/generate_constants.mjs. Do not edit.

export const PUBLISHED = {
  "what": "Settings as the texts named print them (abstracts and registry entries). null or an empty list: not stated there, and never filled in. Reported cases, not recommendations.",
  "cases": [
    {
      "id": "C01",
      "procedure": "leukoplakia vaporisation",
      "evidence": "human, 10 cases",
      "n": 10,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        5
      ],
      "power_kind": "stated",
      "mode": "continuous",
      "pulse_duration_s": null,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": 2,
      "focus": "defocused",
      "exposure": null,
      "exposure_s": null,
      "result": "published 159.2 W/cm2 and 159.2 J/cm2; healed in mean 20.3 d; 2 recurrences (20 %), mean follow-up 25 months",
      "citation": "Monteiro LS, Barberi C, Martins MA, Meleti M, Vescovi P. Med Oral Patol Oral Cir Bucal 2012;17(Suppl 1):S163, doi:10.4317/medoral.17643663",
      "read": "abstract",
      "from_memory": null
    },
    {
      "id": "C02",
      "procedure": "leukoplakia removal",
      "evidence": "human, 22 lesions in 14 patients",
      "n": 14,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        5,
        8
      ],
      "power_kind": "stated range",
      "mode": "continuous",
      "pulse_duration_s": null,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": null,
      "focus": "focused",
      "exposure": null,
      "exposure_s": null,
      "result": "re-epithelialised in 3-5 weeks; 1 recurrence, follow-up to 5 years",
      "citation": "Yalcinkaya S, Dumlu A, Olgac V, Ozbayrak S. J Oral Laser Applications 2005;5(2):97-102",
      "read": "abstract",
      "from_memory": null
    },
    {
      "id": "C03",
      "procedure": "premalignant lesion vaporisation",
      "evidence": "human, 20 lesions in 14 patients",
      "n": 14,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        10
      ],
      "power_kind": "stated",
      "mode": "not stated",
      "pulse_duration_s": null,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": null,
      "focus": "defocused",
      "exposure": null,
      "exposure_s": null,
      "result": "local control 17 of 20 sites; 14 procedures under local anaesthesia",
      "citation": "J Surg Oncol 1988;37(4):232-4, doi:10.1002/jso.2930370404 (authors not shown in the record read)",
      "read": "abstract",
      "from_memory": null
    },
    {
      "id": "C04",
      "procedure": "gingival depigmentation",
      "evidence": "human",
      "n": 10,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        10
      ],
      "power_kind": "not stated whether peak or average",
      "mode": "pulsed",
      "pulse_duration_s": 0.01,
      "repetition_rate_hz": 20,
      "pulse_energy_j": null,
      "spot_mm": 0.8,
      "focus": "not stated",
      "exposure": null,
      "exposure_s": null,
      "result": "little charring, almost no bleeding; 2 partial repigmentations in 24 months",
      "citation": "Esen E, Haytac MC, Oz IA, et al. (authors from memory). Oral Surg Oral Med Oral Pathol Oral Radiol Endod 2004;98:522-7, doi:10.1016/j.tripleo.2004.02.059",
      "read": "abstract",
      "from_memory": "authors"
    },
    {
      "id": "C05",
      "procedure": "gingival depigmentation",
      "evidence": "human",
      "n": 10,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        6,
        8
      ],
      "power_kind": "stated range",
      "mode": "single pulses",
      "pulse_duration_s": 0.2,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": null,
      "focus": "not stated",
      "exposure": null,
      "exposure_s": null,
      "result": "removed in all; no repigmentation in year 1; 4 of 7 repigmented at 24 months",
      "citation": "Nakamura Y et al. (authors from memory). Lasers Surg Med 1999;25(2):140-7, PMID 10455220",
      "read": "abstract",
      "from_memory": "authors"
    },
    {
      "id": "C07",
      "procedure": "excisional biopsy of buccal fibrous hyperplasia",
      "evidence": "human, randomised, CO2 arm of n=32 total",
      "n": 32,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        4.62
      ],
      "power_kind": "average",
      "mode": "pulsed",
      "pulse_duration_s": 0.0004,
      "repetition_rate_hz": 140,
      "pulse_energy_j": 0.033,
      "spot_mm": 0.2,
      "focus": "focused, non-contact",
      "exposure": "median 209 s procedure",
      "exposure_s": null,
      "result": "median thermal damage zone 74.9 um; intra-operative bleeding 56 %; median VAS 5",
      "citation": "Suter VGA et al. (first author from memory). Lasers Med Sci 2017, doi:10.1007/s10103-017-2151-8; registry NCT03001791",
      "read": "abstract + registry",
      "from_memory": "authors"
    },
    {
      "id": "C10",
      "procedure": "epulis excision",
      "evidence": "human, retrospective",
      "n": 90,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        4
      ],
      "power_kind": "stated",
      "mode": "continuous",
      "pulse_duration_s": null,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": null,
      "focus": "tangential application",
      "exposure": null,
      "exposure_s": null,
      "result": "no peri-operative complications; 71 of 84 no recurrence to 36 months, 13 relapses",
      "citation": "Photomed Laser Surg 2017;35(9):472-8, doi:10.1089/pho.2016.4192, PMID 28375684 (authors not shown)",
      "read": "abstract",
      "from_memory": null
    },
    {
      "id": "C13",
      "procedure": "minor aphthous ulcer, non-ablative through gel",
      "evidence": "human, randomised, 15 patients x 2 ulcers",
      "n": 15,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        1
      ],
      "power_kind": "at the exit, before gel",
      "mode": "continuous",
      "pulse_duration_s": null,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": null,
      "focus": "defocused",
      "exposure": "single session",
      "exposure_s": null,
      "result": "2-5 mW measured after the gel; immediate pain fall vs placebo; no visible damage, no significant temperature rise",
      "citation": "Zand N et al. (authors from memory). Lasers Med Sci 2009;24:515-20, doi:10.1007/s10103-008-0555-1",
      "read": "abstract",
      "from_memory": "authors"
    },
    {
      "id": "C14",
      "procedure": "minor aphthous ulcer, non-ablative through gel",
      "evidence": "human, randomised, 10 patients 20 ulcers",
      "n": 10,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        1
      ],
      "power_kind": "at the exit, before gel",
      "mode": "continuous",
      "pulse_duration_s": null,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": null,
      "focus": "defocused",
      "exposure": "fast scan over lesion",
      "exposure_s": null,
      "result": "healing time significantly shorter than placebo",
      "citation": "Zand N et al. Photomed Laser Surg 2012;30(12):719-23, doi:10.1089/pho.2012.3301",
      "read": "abstract",
      "from_memory": null
    },
    {
      "id": "C17",
      "procedure": "erosive-atrophic oral lichen planus removal",
      "evidence": "human, 13 lesions in 10 patients",
      "n": 10,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        5
      ],
      "power_kind": "stated",
      "mode": "continuous",
      "pulse_duration_s": null,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": null,
      "focus": "slightly defocused",
      "exposure": null,
      "exposure_s": null,
      "result": "54 % improved 3-4 grades, 23 % 1-2 grades, 23 % unchanged at 3 months",
      "citation": "Oral Health Dent Manag 2014;13(3):595-9, PMID 25284518 (authors not shown)",
      "read": "abstract",
      "from_memory": null
    },
    {
      "id": "C18",
      "procedure": "oral lichen planus vaporisation",
      "evidence": "human, randomised split mouth (preliminary)",
      "n": null,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        3,
        5
      ],
      "power_kind": "stated range",
      "mode": "not stated",
      "pulse_duration_s": null,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": null,
      "focus": "vaporisation",
      "exposure": null,
      "exposure_s": null,
      "result": "VAS 7.66 -> 2.33 at 1 month",
      "citation": "CESPU repository handle 20.500.11816/4692 (authors not shown)",
      "read": "abstract",
      "from_memory": null
    },
    {
      "id": "C20",
      "procedure": "post-extraction wound irradiation (third molar)",
      "evidence": "human, randomised, 36 lased / 28 control",
      "n": 64,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        3
      ],
      "power_kind": "stated",
      "mode": "continuous",
      "pulse_duration_s": null,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": null,
      "focus": "defocused, rotating",
      "exposure": "about 180 s",
      "exposure_s": 180,
      "result": "no benefit shown: day-7 pain still raised in the laser group",
      "citation": "J Korean Assoc Oral Maxillofac Surg 2001;27(4):349-352 (authors not shown)",
      "read": "abstract",
      "from_memory": null
    },
    {
      "id": "C33",
      "procedure": "implant exposure (second stage), heating test",
      "evidence": "in vitro titanium implants",
      "n": null,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        4,
        5,
        6,
        7,
        8,
        9,
        10
      ],
      "power_kind": "stated",
      "mode": "continuous, pulsed, pulsed",
      "pulse_duration_s": null,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": null,
      "focus": "not stated",
      "exposure": "10, 20, 30, 60 s",
      "exposure_s": null,
      "result": "rise +0.5 to +41.1 C in pulsed; > 10 C beyond 20 s at 8 W; abstract is inconsistent on which mode was hottest",
      "citation": "Lambrecht JT et al. (co-authors not shown). Ann Maxillofac Surg 2012;2(1):12-16, doi:10.4103/2231-0746.95310",
      "read": "abstract",
      "from_memory": null
    },
    {
      "id": "C34",
      "procedure": "incision depth vs power",
      "evidence": "ex vivo swine tongue, 112 samples",
      "n": null,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        3,
        4,
        5,
        6,
        7,
        8,
        9,
        10
      ],
      "power_kind": "stated",
      "mode": "continuous",
      "pulse_duration_s": null,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": null,
      "focus": "not stated",
      "exposure": null,
      "exposure_s": null,
      "result": "depth_mm = 0.491 P - 0.731 (r 0.81); 3 W: 0.527 mm deep 0.147 wide; 9 W: 3.750 deep 0.700 wide",
      "citation": "Mungmee A, Sattayut S. Life 2023;13(1):162, doi:10.3390/life13010162",
      "read": "abstract",
      "from_memory": null
    },
    {
      "id": "C35",
      "procedure": "incision histology",
      "evidence": "ex vivo pig tongue, 30 samples",
      "n": null,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        2,
        4
      ],
      "power_kind": "stated range",
      "mode": "continuous and pulsed 50 Hz",
      "pulse_duration_s": null,
      "repetition_rate_hz": 50,
      "pulse_energy_j": null,
      "spot_mm": null,
      "focus": "not stated",
      "exposure": null,
      "exposure_s": null,
      "result": "mean thermal damage 0.095 mm epithelium, 0.245 mm connective tissue; no difference among groups",
      "citation": "ScientificWorldJournal 2014, article 345685 (authors not shown)",
      "read": "abstract",
      "from_memory": null
    },
    {
      "id": "C36",
      "procedure": "incision, 9.3 um guide vs 10.6 um arm",
      "evidence": "ex vivo pig mandible mucosa, 3 cm cuts",
      "n": null,
      "wavelengths_um": [
        9.3,
        10.6
      ],
      "powers_w": [
        1,
        4,
        12
      ],
      "power_kind": "stated",
      "mode": "continuous",
      "pulse_duration_s": null,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": null,
      "focus": "not stated",
      "exposure": null,
      "exposure_s": null,
      "result": "depth, width and necrosis did not differ between the two at 4 and 12 W; no significant adjacent temperature rise",
      "citation": "Wilder-Smith P et al. (authors from memory). Proc SPIE 1995, doi:10.1117/12.207430",
      "read": "abstract",
      "from_memory": "authors"
    },
    {
      "id": "C38",
      "procedure": "surface irradiation",
      "evidence": "in vitro tissue blocks, n=70",
      "n": null,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        1,
        2,
        3
      ],
      "power_kind": "stated",
      "mode": "continuous",
      "pulse_duration_s": null,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": null,
      "focus": "defocused",
      "exposure": "5 s",
      "exposure_s": 5,
      "result": "ablation without absorbing medium; no histological change with it",
      "citation": "Sattayut S, Trivibulwanich J, Pipithirunkarn N, Danvirutai N. Int J Dent 2012, article 230967, doi:10.1155/2012/230967",
      "read": "abstract",
      "from_memory": null
    },
    {
      "id": "C39",
      "procedure": "mucosa irradiation",
      "evidence": "rat, 45 animals",
      "n": null,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        2,
        7,
        10
      ],
      "power_kind": "stated",
      "mode": "single shot",
      "pulse_duration_s": 0.5,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": 0.8,
      "focus": "focus 0.8 mm",
      "exposure": null,
      "exposure_s": null,
      "result": "2 W: no delay of repair; 7 and 10 W: repair delayed, deeper muscle necrosis",
      "citation": "Portuguese rat study read at 1library.org (journal and authors not shown)",
      "read": "abstract",
      "from_memory": null
    },
    {
      "id": "C40",
      "procedure": "incision vs fluence",
      "evidence": "oral soft tissue experiment",
      "n": null,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [],
      "power_kind": "not stated",
      "mode": "not in the text read",
      "pulse_duration_s": null,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": null,
      "focus": "not stated",
      "exposure": "radiant exposures 490.79, 1226.99, 1840.4 J/cm2",
      "exposure_s": null,
      "result": "depth and adjacent damage rise with fluence and with number of passes",
      "citation": "Al-Dujaili DH, Kummoona RK. Iraqi J Laser 2002;1(B):63-66, doi:10.31900/ijl.v1iB.167",
      "read": "abstract",
      "from_memory": null
    },
    {
      "id": "C41",
      "procedure": "full-thickness skin incision",
      "evidence": "ex vivo porcine flank skin, 24 specimens",
      "n": null,
      "wavelengths_um": [
        10.6
      ],
      "powers_w": [
        10,
        20
      ],
      "power_kind": "stated",
      "mode": "continuous vs pulsed",
      "pulse_duration_s": null,
      "repetition_rate_hz": null,
      "pulse_energy_j": null,
      "spot_mm": 0.4,
      "focus": "not stated",
      "exposure": null,
      "exposure_s": null,
      "result": "20 W faster than 10 W; fewest passes CW 20 W; most artefact pulsed 20 W",
      "citation": "Agulian LM, Mann FA, Middleton JR, Kim DY. Am J Vet Res 2020;81(6):514-520",
      "read": "abstract",
      "from_memory": null
    }
  ]
} as const;

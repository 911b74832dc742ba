"""Seeded random dose requests: mostly sensible, some contradictory, some wrong on purpose."""

import random

_UNITS = {
    "power": (("W", 1), ("mW", 1e3), ("kW", 1e-3)),
    "energy": (("mJ", 1e3), ("J", 1), ("uJ", 1e6)),
    "time": (("us", 1e6), ("ms", 1e3), ("s", 1), ("µs", 1e6), ("min", 1 / 60)),
    "rate": (("Hz", 1), ("kHz", 1e-3)),
    "angle": (("mrad", 1e3), ("rad", 1), ("deg", 57.29577951308232), ("µrad", 1e6)),
    "length": (("mm", 1e3), ("um", 1e6), ("cm", 1e2)),
    "speed": (("mm/s", 1e3), ("cm/s", 1e2), ("m/s", 1)),
    "loss": (("dB", 1),),
    "density": (("kg/m^3", 1), ("g/cm3", 1e-3)),
    "specific heat": (("J/kg/K", 1), ("J/g/K", 1e-3)),
    "conductivity": (("W/m/K", 1),),
    "threshold": (("J/cm2", 1e-4), ("J/m^2", 1)),
    "ablation heat": (("J/g", 1e-3), ("kJ/kg", 1e-3)),
}
# Field paths by the kind of their quantity, for uncertainties.
_KINDS = {
    "delivery.verified_ratio": "number", "delivery.mirror_reflectance": "number",
    "delivery.lens_transmittance": "number", "delivery.loss": "loss", "spot.diameter": "length",
    "spot.focal_length": "length", "spot.beam_diameter_at_lens": "length",
    "spot.beam_quality_m2": "number", "spot.defocus": "length", "spot.waist_diameter": "length",
    "spot.bore_diameter": "length", "spot.distance": "length", "spot.full_divergence": "angle",
    "tissue.water_fraction": "number", "tissue.density": "density",
    "tissue.specific_heat": "specific heat", "tissue.conductivity": "conductivity",
    "tissue.ablation_threshold": "threshold", "tissue.ablation_heat": "ablation heat",
    "motion.speed": "speed", "emission_time": "time", "wavelength": "length",
    "emission.power": "power", "emission.pulse_energy": "energy",
    "emission.pulse_duration": "time", "emission.repetition_rate": "rate",
    "emission.gate_on": "time",
}  # fmt: skip
_WRONG = (
    "4,5 W", "1 ", " 1 W", "-3 W", "nan W", "1e999 s", "3 furlongz", "４ W", "0 W", "12", None,
    True, [], {}, {"value": 3}, {"value": float("nan"), "unit": "W"}, {"value": "3", "unit": "W"},
    "1 dB", {"kind": "oral mucosa"},
    "2*3 W", "1_0 W", ".5 W", "5. W", "+", "", "5 W\n", "3 rpm", "9" * 41,
    "1 constructor",
)  # fmt: skip
_SHAPES = ("rectangular", "triangular", "gaussian", "exponential")


def _quantity(draw: random.Random, kind: str, si: float) -> object:
    if kind == "number":
        form = draw.randrange(4)
        digits = f"{si:.{draw.randint(2, 6)}g}"
        return (float(digits), digits, f"{float(digits) * 100:.6g} %",
                {"value": float(digits), "unit": "1"})[form]  # fmt: skip
    unit, scale = draw.choice(_UNITS[kind])
    number = f"{si * scale:.{draw.randint(1, 5)}g}"
    if draw.random() < 0.15:
        return {"value": float(number), "unit": unit}
    return f"{number}{draw.choice(('', ' '))}{unit}"


def _train(draw: random.Random) -> dict[str, tuple[str, float]]:
    """Return a consistent pulse train as {field: (kind, SI value)}."""
    rate = draw.choice((10.0, 20.0, 50.0, 140.0, 200.0, 300.0, 10 ** draw.uniform(0, 4)))
    duty = draw.choice((1.0, 0.5, 0.06, 10 ** draw.uniform(-3, 0)))
    energy = 10 ** draw.uniform(-4, 0)
    duration = duty / rate
    return {
        "repetition_rate": ("rate", rate),
        "pulse_period": ("time", 1 / rate),
        "duty_cycle": ("number", duty),
        "pulse_duration": ("time", duration),
        "pulse_energy": ("energy", energy),
        "peak_power": ("power", energy / duration),
        "average_power": ("power", energy * rate),
        "power": ("power", draw.choice((energy * rate, energy / duration))),
    }


def _emission(draw: random.Random) -> dict[str, object]:
    mode = draw.choice(("continuous", "gated", "gated", "pulsed", "pulsed"))
    train = _train(draw)
    rate = train["repetition_rate"][1]
    emission: dict[str, object] = {"mode": mode}
    if draw.random() < 0.5:
        emission["pulse_shape"] = draw.choice(_SHAPES)
    if draw.random() < 0.7:
        emission["power_kind"] = draw.choice(("average", "peak", "not stated"))
    names = [n for n in train if n.endswith("power")] if mode == "continuous" else list(train)
    if mode == "gated":
        # Whole and nearly whole numbers of periods are where floating point misleads.
        count = draw.randint(1, 60) + draw.choice((0, 0, 1e-10, -1e-10, 1e-8, draw.random()))
        gate_on = count / rate
        train["gate_on"] = ("time", gate_on)
        train["gate_off"] = ("time", draw.choice((gate_on, 0.03, 0.0)))
        if draw.random() < 0.9:
            for name in ("gate_on", "gate_off"):
                digits = repr(train[name][1])
                emission[name] = (
                    f"{digits} s"
                    if len(digits) < 35 and draw.random() < 0.5
                    else _quantity(draw, *train[name])
                )
        if draw.random() < 0.4:
            names = ["power", "average_power", "peak_power"]
    for name in draw.sample(names, draw.randint(1, min(4, len(names)))):
        kind, value = train[name]
        if draw.random() < 0.15:
            value *= draw.choice((0.5, 0.985, 0.995, 1.005, 1.02, 1.5))
        emission[name] = _quantity(draw, kind, value)
    return emission


def _spot(draw: random.Random) -> dict[str, object]:
    """Return a spot in one of its four forms."""

    def length(low: float, high: float) -> object:
        return _quantity(draw, "length", 10 ** draw.uniform(low, high))

    away = draw.choice(("0 mm", length(-4, -1.5)))
    quality = _quantity(draw, "number", draw.choice((1.0, 1.0, 1.2, 10 ** draw.uniform(0, 1.5))))
    match draw.randrange(4):
        case 0:
            definition = draw.choice(("1/e2", "86.5 %", "63 %", "fwhm"))
            return {"diameter": length(-4.2, -2.5), "diameter_definition": definition}
        case 1:
            return {"focal_length": length(-1.8, -0.5), "beam_diameter_at_lens": length(-3, -1.8),
                    "beam_quality_m2": quality, "defocus": away}  # fmt: skip
        case 2:
            waist = length(-4.2, -2.5)
            return {"waist_diameter": waist, "beam_quality_m2": quality, "defocus": away}
        case _:
            tip = {"bore_diameter": length(-4, -2.7), "distance": away}
            if draw.random() < 0.5:
                tip["full_divergence"] = _quantity(draw, "angle", 10 ** draw.uniform(-2.5, -0.1))
            return tip


def _delivery(draw: random.Random) -> dict[str, object]:
    """Return a verified ratio, a chain, or both."""
    delivery: dict[str, object] = {}
    if draw.random() < 0.6:
        delivery["verified_ratio"] = f"{draw.uniform(0.4, 1.05):.3g}"
        if draw.random() < 0.5:
            delivery["verified_at"] = draw.choice(
                ("2026-11-25T10:15:30.123+01:00", "2026-11-25", "2026-02-30", "2026-00-01", "now")
            )
            delivery["verified_ratio_uncertainty"] = "0.02"
    if draw.random() < 0.5:
        if draw.random() < 0.6:
            delivery["mirror_count"] = draw.choice((0, 7, "7", draw.randint(1, 20)))
            reflectance = draw.choice((0.99, 1.0, draw.uniform(0.9, 1)))
            delivery["mirror_reflectance"] = _quantity(draw, "number", reflectance)
        for name in ("lens_transmittance", "window_transmittance", "contamination_transmittance"):
            if draw.random() < 0.3:
                delivery[name] = _quantity(draw, "number", draw.choice((1.0, 0.9)))
        if draw.random() < 0.4:
            delivery["loss"] = _quantity(draw, "loss", draw.choice((0.0, 0.5, 2.3)))
    return delivery


def _tissue(draw: random.Random) -> dict[str, object]:
    """Return a kind, some properties, or a kind with some of its own."""
    own = {
        "water_fraction": _quantity(draw, "number", draw.uniform(0.5, 0.9)),
        "density": _quantity(draw, "density", draw.choice((1000.0, 1060.0))),
        "specific_heat": _quantity(draw, "specific heat", 3600.0),
        "conductivity": _quantity(draw, "conductivity", draw.choice((0.5, 0.6))),
        "ablation_threshold": _quantity(draw, "threshold", 10 ** draw.uniform(3, 5)),
        "ablation_heat": _quantity(draw, "ablation heat", 10 ** draw.uniform(6, 7)),
    }
    tissue: dict[str, object] = {}
    if draw.random() < 0.7:
        tissue["kind"] = "oral mucosa"
    if draw.random() < 0.5 or not tissue:
        for name in draw.sample(list(own), draw.randint(1, len(own))):
            tissue[name] = own[name]
    return tissue


def _uncertainty(draw: random.Random, request: dict) -> dict[str, object]:
    """Return uncertainties of stated fields, now and then of one that is not."""
    stated = [
        path
        for path in _KINDS
        if path in request
        or path.partition(".")[2] in (request.get(path.partition(".")[0]) or {})
        or (path.startswith("tissue.") and "kind" in request.get("tissue", {}))
    ]
    found = {}
    for path in stated:
        if draw.random() < 0.7:
            # Absolute ones of the wrong size are refused; most are relative.
            kind = "number" if draw.random() < 0.85 else _KINDS[path]
            found[path] = _quantity(draw, kind, draw.choice((0.0, 0.01, 0.05)))
    if draw.random() < 0.03:
        found[draw.choice(list(_KINDS))] = 0.01
    return found


def _mixed_spot(draw: random.Random) -> dict[str, object]:
    """Return fields of two forms together, or one form less a field."""
    spot = _spot(draw) | _spot(draw)
    spot.pop(draw.choice(list(spot)))
    return spot


def _spoil(draw: random.Random, request: dict) -> None:
    """Make one thing of the request wrong."""
    part = draw.choice((request, request["emission"]))
    match draw.randrange(6):
        case 0:
            part[draw.choice(("colour", "powr", "Power"))] = "1 W"
        case 1:
            part.pop(draw.choice(list(part)))
        case 2 | 3:
            name = draw.choice(list(part))
            part[name] = draw.choice(_WRONG)
        case 4:
            spot = draw.choice(({"focal_length": "50 mm"}, {"diameter": "1 mm"}, [], 3, None))
            request["spot"] = _mixed_spot(draw) if spot is None else spot
        case 5:
            request[draw.choice(("tissue", "uncertainty", "motion", "delivery"))] = draw.choice(
                ({}, None, "x")
            )


def random_request(draw: random.Random) -> dict[str, object]:
    """Return one request, as JSON carries it."""
    wavelength = draw.choice(("10.6 um",) * 6 + ("9.3 um", "9.6 um", "2.94 um", "1064 nm", "5 um"))
    request: dict[str, object] = {"wavelength": wavelength, "emission": _emission(draw)}
    if draw.random() < 0.7:
        request["spot"] = _spot(draw)
    if draw.random() < 0.5:
        request["motion"] = {"speed": _quantity(draw, "speed", 10 ** draw.uniform(-3.5, -1))}
    if draw.random() < 0.5:
        request["emission_time"] = _quantity(draw, "time", 10 ** draw.uniform(-1, 2.5))
    if draw.random() < 0.7:
        request["delivery"] = _delivery(draw)
    if draw.random() < 0.5:
        request["tissue"] = _tissue(draw)
    if draw.random() < 0.35:
        request["uncertainty"] = _uncertainty(draw, request)
    if draw.random() < 0.15:
        _spoil(draw, request)
    return request

"""What papers report of settings, and what can be worked out from it. Cases, never advice."""

import json
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

AVERAGE, PEAK = "average", "peak"
# A single pulse of a stated power and length: the power is that of the pulse.
_SINGLE = ("single pulses", "single shot")


@cache
def cases() -> list[dict]:
    """Return the reported cases, in the order of the file; callers must not change them."""
    text = files("api.dose").joinpath("published_settings.json").read_text(encoding="utf-8")
    return json.loads(text)["cases"]


def power_kinds(case: Mapping) -> list[str]:
    """Return the kinds of power that the print may mean: both where it does not say."""
    if case["mode"] in _SINGLE:
        return [PEAK]
    if case["mode"] == "continuous" or case["power_kind"] == AVERAGE:
        return [AVERAGE]
    return [AVERAGE, PEAK] if case["mode"] == "pulsed" else []


def readings(case: Mapping) -> list[dict]:
    """Return a dose request for each way to read what is printed.

    Each is ``{"power_w", "power_kind", "request"}``; none where the mode is not stated well enough
    to work anything out. A spot whose definition the text does not give is taken as the diameter
    of the whole spot (1/e2).
    """
    kinds = power_kinds(case)
    if len(case["wavelengths_um"]) != 1:
        return []
    return [
        {"power_w": watts, "power_kind": kind, "request": _request(case, watts, kind)}
        for watts in case["powers_w"]
        for kind in kinds
    ]


def _request(case: Mapping, watts: float, kind: str) -> dict:
    request = {
        "wavelength": f"{case['wavelengths_um'][0]} um",
        "emission": _emission(case, watts, kind),
    }
    if case["spot_mm"] is not None:
        request["spot"] = {"diameter": f"{case['spot_mm']} mm", "diameter_definition": "1/e2"}
    if case["exposure_s"] is not None:
        request["emission_time"] = f"{case['exposure_s']} s"
    return request


def _emission(case: Mapping, watts: float, kind: str) -> dict:
    if case["mode"] == "continuous":
        return {"mode": "continuous", "power": f"{watts} W"}
    emission = {"mode": "pulsed", f"{kind}_power": f"{watts} W"}
    if case["pulse_duration_s"] is not None:
        emission["pulse_duration"] = f"{case['pulse_duration_s']} s"
    if case["repetition_rate_hz"] is not None:
        emission["repetition_rate"] = f"{case['repetition_rate_hz']} Hz"
    return emission

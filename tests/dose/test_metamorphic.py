"""How the answer must change when the request does, whatever the numbers are."""

import copy

import pytest

from api.dose.evaluate import respond

BASE = {
    "wavelength": "10.6 um",
    "emission": {"mode": "pulsed", "pulse_energy": "33 mJ", "repetition_rate": "140 Hz",
                 "pulse_duration": "400 us"},
    "spot": {"diameter": "0.8 mm", "diameter_definition": "1/e2"},
    "motion": {"speed": "5 mm/s"},
    "emission_time": "30 s",
    "tissue": {"kind": "oral mucosa"},
    "delivery": {"verified_ratio": "0.9", "verified_ratio_uncertainty": "0.02"},
    "uncertainty": {"spot.diameter": "0.02 mm"},
}  # fmt: skip


def _with(**changes: object) -> dict:
    """Return the request with other values at dotted paths (written with two underscores)."""
    request = copy.deepcopy(BASE)
    for path, value in changes.items():
        *parents, name = path.split("__")
        part = request
        for parent in parents:
            part = part.setdefault(parent, {})
        part[name] = value
    return request


def _sizes(request: dict, side: str = "set") -> dict[str, float]:
    """Return every number of one side, bands by their ends."""
    return {
        f"{name} {size}": result[size]
        for name, result in respond(request)["dose"][side].items()
        if isinstance(result, dict)
        for size in ("value", "low", "high")
        if size in result
    }


def _flat(value: object, path: str = "") -> dict[str, object]:
    """Return every leaf of an answer by its path."""
    if isinstance(value, dict | list):
        parts = value.items() if isinstance(value, dict) else enumerate(value)
        return {p: v for name, part in parts for p, v in _flat(part, f"{path}.{name}").items()}
    return {path: value}


@pytest.mark.parametrize("changes", [
    {"emission__pulse_energy": "0.033 J"},
    {"emission__pulse_energy": "33000 uJ"},
    {"emission__repetition_rate": "0.14 kHz"},
    {"emission__pulse_duration": {"value": 0.4, "unit": "ms"}},
    {"spot__diameter": "800 µm"},
    {"motion__speed": "0.5 cm/s"},
    {"emission_time": "0.5 min"},
    {"wavelength": "10600 nm"},
    {"delivery__verified_ratio": "90 %"},
    {"uncertainty": {"spot.diameter": "20 um"}},
    {"uncertainty": {"spot.diameter": "2.5 %"}},
])  # fmt: skip
def test_another_unit_changes_nothing(changes: dict) -> None:
    one, other = _flat(respond(BASE)), _flat(respond(_with(**changes)))
    assert one.keys() == other.keys()
    for path, value in one.items():
        if isinstance(value, float):
            assert other[path] == pytest.approx(value, rel=1e-9, abs=1e-12), path
        else:
            assert other[path] == value, path


def test_a_diameter_twice_as_large_makes_a_quarter() -> None:
    one, other = _sizes(BASE), _sizes(_with(spot__diameter="1.6 mm"))
    for name in ("irradiance_mean", "irradiance_peak", "pulse_irradiance_mean", "fluence_mean",
                 "pulse_irradiance_peak", "fluence_peak"):  # fmt: skip
        assert other[f"{name} value"] == pytest.approx(one[f"{name} value"] / 4), name
    for name in ("track_fluence_mean value", "track_fluence_peak value", "cut_depth low",
                 "cut_depth high"):  # fmt: skip
        assert other[name] == pytest.approx(one[name] / 2), name
    for name in ("dwell_time value", "pulses_per_spot value"):
        assert other[name] == pytest.approx(2 * one[name]), name
    for name in ("average_power value", "line_energy value", "absorption_coefficient value",
                 "thermal_relaxation_time value", "total_energy value"):  # fmt: skip
        assert other[name] == one[name], name


def test_the_delivered_dose_is_the_set_dose_of_so_much_less_power() -> None:
    delivered = _sizes(BASE, "delivered")
    weaker = _sizes(_with(emission__pulse_energy="29.7 mJ"))
    for name, value in weaker.items():
        assert delivered[name] == pytest.approx(value, rel=1e-12), name


def test_the_set_dose_knows_nothing_of_the_delivery() -> None:
    chain = {"mirror_count": 7, "mirror_reflectance": 0.98, "loss": "1 dB"}
    assert _sizes(_with(delivery=chain)) == _sizes(BASE) == _sizes(_with(delivery={}))


def test_parts_of_a_chain_multiply() -> None:
    def fraction(**delivery: object) -> float:
        side = respond(_with(delivery=delivery))["dose"]["delivered"]
        return side["delivered_fraction"]["value"]

    seven = fraction(mirror_count=7, mirror_reflectance=0.985)
    three = fraction(mirror_count=3, mirror_reflectance=0.985)
    ten = fraction(mirror_count=10, mirror_reflectance=0.985)
    assert ten == pytest.approx(seven * three, rel=1e-12)
    assert fraction(loss="3 dB") ** 2 == pytest.approx(fraction(loss="6 dB"), rel=1e-12)
    assert fraction(loss="10 dB") == pytest.approx(0.1, rel=1e-12)
    whole = fraction(mirror_count=7, mirror_reflectance=0.985, lens_transmittance=0.94,
                     window_transmittance=0.97, contamination_transmittance=0.8)  # fmt: skip
    assert whole == pytest.approx(seven * 0.94 * 0.97 * 0.8, rel=1e-12)


def test_more_water_absorbs_more() -> None:
    half = _sizes(_with(tissue={"kind": "oral mucosa", "water_fraction": 0.35}))
    full = _sizes(BASE)
    absorption = "absorption_coefficient value"
    assert full[absorption] == pytest.approx(2 * half[absorption])
    time = "thermal_relaxation_time value"
    assert full[time] == pytest.approx(half[time] / 4)


def test_a_pulse_goes_deeper_with_its_fluence_and_the_band_keeps_its_order() -> None:
    bands = []
    for energy_mj in (6, 10, 20, 50, 100, 200, 500):
        dose = respond(_with(emission__pulse_energy=f"{energy_mj} mJ"))["dose"]["set"]
        bands.append((dose["pulse_depth"]["low"], dose["pulse_depth"]["high"]))
    assert bands == sorted(bands)
    assert all(low <= high for low, high in bands)
    assert [high for _, high in bands] == sorted(high for _, high in bands)


def test_certain_inputs_give_intervals_of_no_width() -> None:
    sure = _with(uncertainty={"spot.diameter": 0}, delivery__verified_ratio_uncertainty=0)
    answer = respond(sure)
    for side in ("set", "delivered"):
        for name, interval in answer["intervals"][side].items():
            if interval == "not stated":
                continue
            result = answer["dose"][side][name]
            assert interval["low"] == pytest.approx(result.get("low", result.get("value")))
            assert interval["high"] == pytest.approx(result.get("high", result.get("value")))

"""A dose as lines of text: values and bands, set and delivered side by side."""

from api.dose.evaluate import respond
from api.dose.table import as_lines
from tests.dose.settings import CONTINUOUS, PULSED, PULSES, SPOT


def test_bands_stand_beside_values() -> None:
    # P/(h d v): 6 W, 0.25 mm, 5 mm/s: 1 mm at 4.8 kJ/cm3, 1.2 mm at 4.0; half of it delivered.
    lines = as_lines(
        respond(
            {
                "wavelength": "10.6 um",
                "emission": {"mode": "continuous", "power": "6 W"},
                "spot": {"diameter": "0.25 mm", "diameter_definition": "1/e2"},
                "motion": {"speed": "5 mm/s"},
                "tissue": {"kind": "oral mucosa"},
                "delivery": {"verified_ratio": 0.5, "verified_at": "2026-11-20"},
            }
        )
    )
    assert lines[0].split() == ["set", "verified", "2026-11-20"]
    rows = {line[:26].strip(): line[26:] for line in lines}
    assert rows["average power"] == "6 W             3 W"
    assert rows["cut depth"] == "1 mm to 1.2 mm  0.5 mm to 0.6 mm"
    assert rows["thermal damage"] == "75 µm to 540 µm  75 µm to 540 µm"
    assert rows["delivered fraction"] == "                50 %"
    assert any(line.startswith("note: the cut depth is an ideal energy balance") for line in lines)


def test_an_answer_as_lines() -> None:
    lines = as_lines(respond({**CONTINUOUS, "spot": SPOT}))
    # A name in 26 columns, a value in 16; nothing arrives that is known, so there is one column.
    assert lines[0] == " " * 26 + "set"
    assert "average power".ljust(26) + "4 W" in lines
    assert "irradiance mean".ljust(26) + "3180 W/cm²" in lines
    assert all(line == line.rstrip() for line in lines)
    design = as_lines(respond({**CONTINUOUS, "delivery": {"lens_transmittance": 0.5}}))
    assert design[0] == " " * 26 + "set".ljust(16) + "design"
    assert "average power".ljust(26) + "4 W".ljust(16) + "2 W" in design
    emission = {**PULSES, "average_power": "9 W"}
    told = respond({**PULSED, "emission": emission})
    assert f"contradiction: {told['contradictions'][0]['text']}" in as_lines(told)
    when = {"verified_ratio": 0.5, "verified_at": "2026-11-20T10:15:00+01:00"}
    assert as_lines(respond({**CONTINUOUS, "delivery": when}))[0].endswith("verified 2026-11-20")

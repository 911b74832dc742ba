"""A dose as lines of text: values and bands, set and delivered side by side."""

from api.dose.evaluate import respond
from api.dose.table import as_lines


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

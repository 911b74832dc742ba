"""Settings that several tests ask about, and what a refusal says."""

import pytest

from api.dose.evaluate import respond
from api.errors import BadInput

CONTINUOUS = {"wavelength": "10.6 um", "emission": {"mode": "continuous", "power": "4 W"}}
PULSES = {"mode": "pulsed", "pulse_energy": "50 mJ", "repetition_rate": "100 Hz",
          "pulse_duration": "400 us"}  # fmt: skip
SPOT = {"diameter": "0.4 mm", "diameter_definition": "1/e2"}
TISSUE = {"kind": "oral mucosa"}
PULSED = {"wavelength": "10.6 um", "emission": PULSES, "spot": SPOT, "tissue": TISSUE}
NO_PULSES = "the emission has no pulses"
GATED = {"mode": "gated", "power": "4 W", "power_kind": "peak", "gate_on": "20 ms"}


def refused(request: object) -> dict[str, list[str]]:
    """Return the errors of a request, whose message is the first of them."""
    with pytest.raises(BadInput) as caught:
        respond(request)
    assert caught.value.code == "bad_request"
    first = sorted(caught.value.errors)[0]
    text = caught.value.errors[first][0]
    assert caught.value.message == (f"{first} {text}" if first else text)
    return caught.value.errors

"""Requests and media that several tests of the simulation use."""

from api.dose.heat_model import Medium
from api.dose.request import DoseInput, parse
from api.dose.schema import HeatRequestSchema

PULSED = {
    "wavelength": "10.6 um",
    "emission": {"mode": "pulsed", "pulse_energy": "10 mJ", "repetition_rate": "100 Hz",
                 "pulse_duration": "400 us"},
    "spot": {"diameter": "0.4 mm", "diameter_definition": "1/e2"},
    "tissue": {"kind": "oral mucosa"},
    "duration": "20 ms",
}  # fmt: skip
GATES = {"mode": "gated", "gate_on": "20 ms", "gate_off": "30 ms"}
# 4 W while each gate is open; no heat passes from cell to cell, and one cell is 1 m.
STILL = Medium(1e-30, 2.0, 1.0, 3.0, 5.0, 40.0)


WEAK = {**PULSED, "emission": {**PULSED["emission"], "pulse_energy": "0.1 mJ"}}


def parsed(**emission: object) -> DoseInput:
    """Return the pulsed request with another emission, read."""
    return parse({**PULSED, "emission": emission}, HeatRequestSchema)

"""Requests that several tests of the hazard engine ask about."""

CO2 = {"wavelength": "10.6 um", "exposure_time": "10 s", "emission": {"power": "10 W"}}
TRAIN = {"pulse_energy": "10 mJ", "pulse_duration": "100 us", "repetition_rate": "100 Hz"}
ONE = {"wavelength": "10.6 um", "emission": {"pulse_energy": "10 mJ", "pulse_duration": "100 us"}}
BEAM = {"diameter": "8 mm", "diameter_definition": "63 %", "full_divergence": "4 mrad"}
LENS = {"focal_length": "100 mm", "beam_diameter": "8 mm", "diameter_definition": "63 %"}
TIP = {"diameter": "0.8 mm", "full_divergence": "0.2 rad"}
EVERYTHING = {**CO2, "beam": BEAM, "lens": LENS, "tip": TIP}


def nm(nanometres: float) -> float:
    """Return a wavelength in metres."""
    return nanometres * 1e-9

"""A laser, a tip and a preset, as a practice of the tests registers them."""

from tests.web.practice import SETTINGS

DEVICE = {
    "label": "Arm laser",
    "maker": "Invented Works",
    "model": "Test",
    "serial": "1",
    "wavelength": "10.6 um",
    "laser_class": "4",
    "delivery_part": "articulated arm",
    "modes": ["continuous"],
    "limits": {"average_power": {"max": "15 W"}},
    "room_id": None,
}
TIP = {
    "device_id": "laser-1",
    "label": "Fine tip",
    "kind": "focusing handpiece",
    "spot_diameter": "0.25 mm",
    "diameter_definition": "1/e2",
    "spot_known": "label",
    "working_distance": None,
}


def preset(practice, **more):
    return {
        "version": 1,
        "name": "Frenum, fine",
        "procedure_kind_id": "kind-1",
        "device_id": "laser-1",
        "handpiece_id": "tip-1",
        "settings": SETTINGS,
        "spot_known": "label",
        "focus": "focused",
        "coolant": "none",
        "note": None,
        "reviewed_by": practice.people["clinician"],
        **more,
    }

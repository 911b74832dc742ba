"""What a tablet writes of a case with a laser: its opening and its passes."""

from api.clock import rfc3339
from tests.web.practice import SETTINGS


def opening(tablet, at, device_id, handpiece_id, chart):
    person_id = tablet.person["person_id"]
    return {
        "patient": {"chart_number": chart, "second_identifier": "1980-05-17"},
        "procedure": {"procedure_kind_id": None, "text": "Labial frenectomy", "code": None},
        "site": "Upper lip",
        "indication": "Diastema",
        "operator_id": person_id,
        "assistant_ids": [],
        "device": {"device_id": device_id, "label": "Laser", "wavelength": "10.6 um"},
        "handpiece": {"handpiece_id": handpiece_id, "label": "Tip"},
        "alerts_reviewed": True,
        "started_at": rfc3339(at),
    }


def a_pass(number, handpiece_id, mode):
    emission = {"mode": mode, "power": "4 W"}
    if mode == "gated":
        emission |= {"gate_on": "50 ms", "gate_period": "100 ms"}
    return {
        "pass_id": f"pass-{number}",
        "number": number,
        "settings": {**SETTINGS, "emission": emission},
        "verification_event_id": None,
        "changed_from_preset": False,
        "spot_known": "label",
        "focus": "focused",
        "coolant": "none",
        "handpiece": {"handpiece_id": handpiece_id, "label": "Tip"},
    }

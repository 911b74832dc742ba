"""Cases as a chair records them, made by the Python tablet and kept as batches to send."""

import json

from api.clock import rfc3339
from api.demo import payloads
from api.demo.tablet_client import BATCH_EVENTS, TabletClient
from api.records.doses import pass_dose
from api.records.order import content_hash
from api.settings import PROTOCOL_VERSION

PASSES = 3
EVENTS_A_CASE = 2 * PASSES + 4
DEVICE = {
    "device_id": "laser-1", "label": "Laser one", "maker": "Invented Works", "model": "Test",
    "serial": "1", "wavelength": "10.6 um", "delivery_part": "articulated arm",
}  # fmt: skip
HANDPIECE = {
    "handpiece_id": "tip-1", "label": "0.25 mm", "kind": "focusing handpiece", "use_count": None,
}  # fmt: skip
NOTES = ("Dry field throughout.", "Char wiped away once.", "Slower at the midline; no bleeding.")
OUTCOME = dict.fromkeys(("specimens", "sutures", "complications", "instructions"))


def record_case(tablet: TabletClient, person_id: str, number: int) -> str:
    """Record one signed case of three passes, with its doses; return its id.

    No two passes of cases of different numbers have the same settings: a dose that was worked out
    before would flatter whoever remembers it, and nobody's passes are all alike.
    """
    record_id = tablet.new_id()

    def record(type: str, payload: dict) -> None:
        tablet.record(type, record_id, payload, actor_id=person_id)

    record("procedure.opened", _opening(person_id, number, rfc3339(tablet.now())))
    for turn in range(1, PASSES + 1):
        pass_id = tablet.new_id()
        settings = settings_of(number, turn)
        dose = payloads.as_texts(pass_dose(settings))
        record("pass.started", {
            "pass_id": pass_id, "number": turn, "settings": settings,
            "verification_event_id": None, "preset": None, "changed_from_preset": False,
            "spot_known": "label", "focus": "focused", "coolant": "none", "distance": None,
            "dose": dose,
        })  # fmt: skip
        record("laser.emitted", payloads.emitted(pass_id, {
            "seconds": f"{5 + (number + turn) % 40}.4", "source": "timer",
        }))  # fmt: skip
    record("procedure.noted", {"text": NOTES[number % len(NOTES)]})
    record("procedure.ended", {
        "outcome": {"haemostasis": "Dry field", **OUTCOME}, "ended_at": rfc3339(tablet.now()),
    })  # fmt: skip
    record("record.signed", {
        "signer_id": person_id, "role": "clinician", "statement": "This is what was done.",
        "content_hash": content_hash(tablet.events_of(record_id)),
    })  # fmt: skip
    return record_id


def settings_of(number: int, turn: int) -> dict:
    """Return the settings of a pass: as many of them as there are passes, of two modes."""
    which = number * PASSES + turn
    spot = {"diameter": "0.25 mm", "diameter_definition": "1/e2"}
    if turn == PASSES:
        emission = {"mode": "continuous", "power": f"{2 + which / 10_000:.4f} W"}
    else:
        emission = {
            "mode": "gated", "peak_power": f"{40 + which / 1000:.3f} W", "pulse_duration": "300 us",
            "repetition_rate": "200 Hz", "gate_on": "50.1 ms", "gate_off": "50 ms",
        }  # fmt: skip
    return {"wavelength": "10.6 um", "emission": emission, "spot": spot}


def _opening(person_id: str, number: int, at: str) -> dict:
    return {
        "patient": {"chart_number": f"C-{number}", "second_identifier": "1980-05-17"},
        "procedure": {"procedure_kind_id": None, "text": "Labial frenectomy", "code": None},
        "site": "Upper lip", "indication": "Diastema", "why_laser": None,
        "operator_id": person_id, "supervising_id": None, "assistant_ids": [],
        "others_present": None, "room": None, "device": DEVICE, "handpiece": HANDPIECE,
        "verification": None, "consent": None, "anaesthesia": None, "alerts_reviewed": True,
        "started_at": at,
    }  # fmt: skip


def batches(tablet: TabletClient) -> list[bytes]:
    """Return what waits in a tablet's outbox as the bodies of pushes, fifty events each."""
    items = [event.item for event in tablet.waiting()]
    return [
        json.dumps(
            {
                "protocol": PROTOCOL_VERSION,
                "epoch": tablet.identity["epoch"],
                "items": items[first : first + BATCH_EVENTS],
                "waiting": len(items) - first,
            }
        ).encode()
        for first in range(0, len(items), BATCH_EVENTS)
    ]

"""Record documents written by hand, in the shape that the fold gives, for the renderers' tests."""

from copy import deepcopy

OPERATOR = "019ab000-0000-7000-8000-000000000001"
ASSISTANT = "019ab000-0000-7000-8000-000000000002"
FIRST_OPERATOR = "019ab000-0000-7000-8000-000000000009"
RECORD = "019ab000-0000-7000-8000-0000000000aa"
HASH = "3f" * 32
LINK = "a7" * 32

NAMES = {
    OPERATOR: {"display_name": "Dr Marl Testwood", "initials": "MT", "credential": "DDS"},
    ASSISTANT: {"display_name": "Pim Exampleby", "initials": "PE", "credential": None},
    FIRST_OPERATOR: {"display_name": "Dr Una Placeholder", "initials": "UP", "credential": None},
}
FACTS = {
    "position": 412,
    "link": LINK,
    "practice_name": "Sample Dental",
    "location_name": "Upper Street",
    "zone": "America/New_York",
}

# One pass: 4 W average, 140 Hz, 400 us, 0.25 mm (1/e2), ratio 0.93. By hand: energy 4/140 =
# 28.571 mJ, area pi 0.0125^2 = 4.9087e-4 cm2, fluence 58.205 J/cm2, delivered 0.93 x 58.205 =
# 54.131; irradiance 4/4.9087e-4 = 8148.7 W/cm2, delivered 7578.3; 42 s x 4 W = 168 J, 156.24 J.
PASS = {
    "pass_id": "019ab000-0000-7000-8000-0000000000b1",
    "number": 1,
    "settings": {
        "wavelength": "10.6 um",
        "emission": {
            "mode": "pulsed",
            "power": "4 W",
            "power_kind": "average",
            "pulse_duration": "400 us",
            "repetition_rate": "140 Hz",
        },
        "spot": {"diameter": "0.25 mm", "diameter_definition": "1/e2"},
        "delivery": {
            "verified_ratio": "0.93",
            "verified_at": "2026-11-16T12:30:00.000+00:00",
            "verified_ratio_uncertainty": "0.02",
        },
    },
    "preset": {"preset_id": "p", "version": 2, "name": "Frenum, light"},
    "changed_from_preset": False,
    "spot_known": "label",
    "focus": "focused",
    "coolant": "air",
    "distance": "1 mm",
    "started_at": "2026-11-18T14:05:00.000+00:00",
    "ended_at": "2026-11-18T14:07:30.000+00:00",
    "laser_on": [
        {"seconds": 42.0, "source": "timer", "pulses": None, "at": "x", "event_id": "e"},
    ],
    "laser_on_s": 42.0,
    "sources": ["timer"],
    "dose": {
        "engine": "1.0.0",
        "set": {
            "average_power": 4.0,
            "pulse_energy": 0.0285714285714,
            "fluence_mean": 58.2050,
            "irradiance_mean": 8148.73,
        },
        "delivered": {
            "average_power": 3.72,
            "pulse_energy": 0.0265714285714,
            "fluence_mean": 54.1306,
            "irradiance_mean": 7578.32,
        },
        "basis": "verified",
        "absent": {},
    },
    "total_energy_j": {"set": 168.0, "delivered": 156.24},
    "event_id": "019ab000-0000-7000-8000-0000000000c1",
}

QUESTIONS = ("Two identifiers agree", "Eyewear on every head", "Oxygen off or reduced")


def one_pass(number: int, **changes: object) -> dict:
    """Return the sample pass with another number and whatever else is to differ."""
    made = deepcopy(PASS) | deepcopy(changes)
    return made | {"number": number, "pass_id": f"019ab000-0000-7000-8000-0000000001{number:02d}"}


def sample(passes: int = 2, **changes: object) -> dict:
    """Return a signed record with so many passes."""
    record = {
        "record_id": RECORD,
        "location_id": "l",
        "status": "signed",
        "version": 1,
        "patient": {"chart_number": "C-20417", "second_identifier": "RB"},
        "procedure": {"procedure_kind_id": None, "text": "Labial frenectomy", "code": "LF-1"},
        "site": "Upper labial frenum",
        "indication": "Midline diastema, frenal pull",
        "why_laser": "Little bleeding expected",
        "operator_id": OPERATOR,
        "supervising_id": None,
        "assistant_ids": [ASSISTANT],
        "others_present": None,
        "room": "Room 2",
        "device": {
            "device_id": "d",
            "label": "Laser A",
            "maker": "Fernhollow Works",
            "model": "Lumen 12",
            "serial": "FW-0042",
            "wavelength": "10.6 um",
            "delivery_part": "articulated arm",
        },
        "handpiece": {
            "handpiece_id": "h",
            "label": "Straight handpiece",
            "kind": "focusing handpiece",
            "use_count": 17,
        },
        "verification": {
            "verification_id": "v",
            "event_id": "v",
            "ratio": "0.93",
            "ratio_uncertainty": "0.02",
            "verified_at": "2026-11-16T12:30:00.000+00:00",
            "mode": "pulsed",
            "handpiece_id": "h",
            "verdict": "ok",
        },
        "consent": {"by": OPERATOR, "at": "2026-11-18T13:55:00.000+00:00"},
        "anaesthesia": "Lidocaine 2 %, 1.8 ml, infiltration",
        "alerts_reviewed": True,
        "started_at": "2026-11-18T14:00:00.000+00:00",
        "ended_at": "2026-11-18T14:25:00.000+00:00",
        "time_out": {
            "list_id": "t",
            "list_version": 3,
            "title": "Time-out",
            "led_by": ASSISTANT,
            "completed_at": "2026-11-18T14:03:00.000+00:00",
            "answers": [
                {
                    "item_id": f"q{number}",
                    "text": text,
                    "answer": answer,
                    "note": note,
                    "answered_at": "2026-11-18T14:02:50.000+00:00",
                }
                for number, (text, answer, note) in enumerate(
                    zip(
                        QUESTIONS,
                        ("yes", "yes", "not applicable"),
                        (None, None, "room air"),
                        strict=True,
                    )
                )
            ],
        },
        "passes": [one_pass(number + 1) for number in range(passes)],
        "notes": [{"text": "Good margins", "at": "2026-11-18T14:20:00.000+00:00", "by": OPERATOR}],
        "outcome": {
            "haemostasis": "Complete",
            "specimens": None,
            "sutures": "None placed",
            "complications": None,
            "instructions": "Soft food, given in writing",
        },
        "sign_off": {
            "signer_id": OPERATOR,
            "role": "clinician",
            "at": "2026-11-18T14:30:00.000+00:00",
            "content_hash": HASH,
            "event_id": "s",
            "statement": "I performed this procedure and the record is complete.",
        },
        "addenda": [],
        "chart": None,
        "history": [],
        "flags": [],
        "provenance": {},
    }
    return record | deepcopy(changes)


MOVED = {
    "from": {"chart_number": "C-99999", "second_identifier": "ZZ"},
    "to": {"chart_number": "C-20417", "second_identifier": "RB"},
    "reason": "Opened on the wrong card",
    "at": "2026-11-19T15:00:00.000+00:00",
    "by": OPERATOR,
    "event_id": "m",
}
VOIDED = {
    "reason": "Recorded twice",
    "at": "2026-11-21T15:00:00.000+00:00",
    "by": OPERATOR,
    "event_id": "x",
}


def eventful(**changes: object) -> dict:
    """Return a record in which all happened that may happen beside the passes."""
    second_tip = {
        "handpiece_id": "h2",
        "label": "0.4 mm tip",
        "kind": "waveguide tip",
        "use_count": 3,
    }
    record = sample(
        passes=0,
        pauses=[
            {
                "from_at": "2026-11-18T14:08:00.000+00:00",
                "to_at": "2026-11-18T14:10:30.000+00:00",
                "reason": "Tip changed",
                "by": ASSISTANT,
                "event_id": "p",
            }
        ],
        handovers=[
            {
                "from_id": FIRST_OPERATOR,
                "to_id": OPERATOR,
                "role": "operator",
                "note": "called away",
                "at": "2026-11-18T14:09:00.000+00:00",
                "by": ASSISTANT,
                "event_id": "h",
            }
        ],
        lists=[
            {
                "kind": "before_patient",
                "list_id": "b",
                "list_version": 4,
                "title": "Room and laser",
                "led_by": ASSISTANT,
                "completed_at": "2026-11-18T13:50:00.000+00:00",
                "event_id": "l",
                "answers": [
                    {
                        "item_id": "sign",
                        "text": "Sign lit at the door",
                        "answer": "no",
                        "note": "lamp ordered",
                        "answered_at": "2026-11-18T13:49:30.000+00:00",
                        "by": ASSISTANT,
                    }
                ],
            }
        ],
        protection={
            "heads": 3,
            "eyewear": [
                {
                    "label": "EW-7",
                    "wavelength": "9000-11500 nm",
                    "optical_density": "5",
                    "wearer": "patient",
                },
                {
                    "label": "EW-8",
                    "wavelength": None,
                    "optical_density": None,
                    "wearer": OPERATOR,
                },
            ],
            "evacuator": "5 cm from the site",
            "masks": "respirators",
            "deviations": "third pair not found",
            "at": "2026-11-18T14:01:00.000+00:00",
            "by": ASSISTANT,
            "event_id": "r",
        },
        attachments=[
            {
                "attachment_id": "a",
                "sha256": "9c" * 32,
                "width_px": 2048,
                "height_px": 1536,
                "caption": "Before",
                "taken_at": "2026-11-18T13:58:00.000+00:00",
            },
            {
                "attachment_id": "b",
                "sha256": "5e" * 32,
                "width_px": 800,
                "height_px": 600,
                "caption": None,
                "taken_at": "2026-11-18T14:24:00.000+00:00",
            },
        ],
    )
    record["passes"] = [
        one_pass(
            1,
            operator_id=FIRST_OPERATOR,
            handpiece=record["handpiece"],
        ),
        one_pass(2, operator_id=OPERATOR, handpiece=second_tip),
    ]
    return record | deepcopy(changes)

"""The catalogue: each type takes a whole payload, and refuses what it could not keep."""

import copy

import pytest

from api.events import catalogue

MOMENT = "2026-03-02T10:15:30.123+01:00"
SETTINGS = {"wavelength": "10.6 um", "emission": {"mode": "continuous", "power": "4 W"}}
DEVICE = {"label": "L", "maker": "M", "model": "N", "serial": "1"}
HANDPIECE = {"handpiece_id": "h", "label": "Tip", "kind": "focusing handpiece"}
SPOT = {"spot_known": "label", "focus": "focused", "coolant": "none"}
ITEM = {"item_id": "a", "text": "Patient named", "group": "Who", "why": None}
LIST = {"title": "Time-out", "items": [ITEM]}
PATIENT = {"chart_number": "A-1", "second_identifier": "1980"}
ANSWER = {
    "item_id": "a",
    "text": "Patient named",
    "answer": "not applicable",
    "note": None,
    "answered_at": MOMENT,
    "by": "q",
}
ANSWERED = {
    "list_id": "l",
    "list_version": 1,
    "title": "Time-out",
    "answers": [ANSWER],
    "led_by": "p",
}
VERIFICATION = {
    "verification_id": "v",
    "event_id": "e",
    "ratio": "0.93",
    "ratio_uncertainty": "0.02",
    "verified_at": MOMENT,
    "mode": "continuous",
    "handpiece_id": "h",
    "verdict": "ok",
}

# One whole payload of each type.
ROLLED_OUT = {
    "source_id": "l-1",
    "version": 3,
    "title": "Pause",
    "list": {
        "kind": "pause",
        "title": "Pause",
        "items": [{"item_id": "a", "text": "Standby"}],
        "needs_acknowledgement": None,
        "within_s": None,
    },
    "row": None,
    "effective_from": None,
    "note": None,
}
FROM_GROUP = {
    "made_at": "2026-03-02T10:15:30.000+00:00",
    "made_by": "Ash Standin",
    "group_name": "Lantern Dental",
    "group_key": "0123-4567-89AB-CDEF",
}

WHOLE = {
    "location.opened": {
        "name": "House",
        "practice_name": "Practice A",
        "zone": "Europe/Berlin",
        "rooms": [{"room_id": "r1", "name": "Room 1"}],
    },
    "person.registered": {
        "display_name": "A. B.",
        "initials": "AB",
        "roles": ["clinician"],
        "credential": None,
        "licence_expires": "2027-01-31",
    },
    "person.left": {"reason": "Moved away"},
    "emergency.opened": {
        "person_id": "p",
        "rights": ["record.read"],
        "reason": "The dentist is not to be reached",
        "until": "2026-03-02T10:00:00.000+01:00",
    },
    "emergency.acknowledged": {},
    "credential.noted": {
        "credential_id": "c1",
        "kind": "device_training",
        "text": "Training on the laser with the arm",
        "device_id": "d",
        "hours": "4",
        "issued_on": "2026-01-31",
        "expires_on": "2028-01-31",
    },
    "credential.withdrawn": {"credential_id": "c1", "reason": "Revoked"},
    "scope.decided": {
        "device_ids": ["d"],
        "procedure_kind_ids": None,
        "needs": ["licence", "course"],
        "note": None,
    },
    "operator.accepted": {
        "operator_id": "p",
        "findings": [{"code": "credential_missing", "kind": "licence", "expires_on": None}],
        "reason": "Renewal is on its way",
    },
    "device.taken_out": {
        "reason_code": "suspicion",
        "reason": "The aiming beam is off centre",
        "key_held_by": None,
    },
    "device.key_held": {"held_by": "the safety officer, in the key cabinet"},
    "device.release_asked": {"causes": ["e1"], "tests": ["e2"], "done": "Optic cleaned"},
    "device.released": {"asked": "e3", "note": None},
    "service.overridden": {
        "device_id": "d",
        "causes": [{"event_id": "e1", "kind": "verification", "at": MOMENT, "text": "ratio 0.7"}],
        "reason": "Bleeding that nothing else here stops",
    },
    "location.offline_limit_set": {"offline_days": 3},
    "log.restored": {
        "old_epoch": "e1",
        "position": 12,
        "link": "00" * 32,
        "backup_id": "b1",
        "backup_made_at": "2026-03-02T08:00:00.000+00:00",
        "who": "whoever looks after the server",
        "why": "the disk broke",
    },
    "tablet.enrolled": {"label": "Room 1"},
    "tablet.renamed": {"label": "Room 2"},
    "tablet.revoked": {"reason": "Left on a train"},
    "witness.alarmed": {
        "tablet_id": "tablet-1",
        "position": 12,
        "expected": "a" * 64,
        "found": "b" * 64,
    },
    "witness.answered": {"found_out": "The database had been restored from a copy by hand."},
    "aside.released": {"event_id": "e-1", "verdict": "applied", "reason": "Ours after all"},
    "aside.rejected": {"event_id": "e-1", "reason": "Made by whoever found it"},
    "retention.ruled": {
        "rules": [{"text": "Records", "years": 10, "citation": "House rule 3"}],
    },
    "retention.held": {"reason": "A court asks for it", "citation": None},
    "retention.hold_ended": {"reason": "Settled"},
    "erasure.asked": {
        "basis": "request",
        "citation": "House rule 7",
        "reason": "Asked for in writing",
        "override": None,
        "keep_until": "2036-03-02",
        "position": 12,
    },
    "erasure.declined": {"reason": "Still needed"},
    "retention.erased": {
        "asked_by": "p-1",
        "asked_at": "2036-03-03T10:00:00.000+00:00",
        "confirmed_by": "p-2",
        "confirmed_at": "2036-03-03T11:00:00.000+00:00",
        "basis": "retention_ended",
        "citation": "House rule 3",
        "event_ids": ["e-1", "e-2"],
        "photographs": ["a" * 64],
        "papers": [{"version": 1, "kind": "pdf", "sha256": "b" * 64}],
        "handpieces": [{"handpiece_id": "h", "used_at": "2026-03-02T10:00:00.000+00:00"}],
    },
    "device.registered": {
        **DEVICE,
        "wavelength": "10.6 um",
        "laser_class": "4",
        "delivery_part": "articulated arm",
        "modes": ["continuous"],
        "limits": {"average_power": {"min": "0.5 W", "max": "10 W"}},
        "room_id": None,
    },
    "handpiece.registered": {
        "label": "Tip",
        "device_id": "d",
        "kind": "focusing handpiece",
        "spot_diameter": "0.25 mm",
        "diameter_definition": "1/e2",
        "spot_known": "label",
        "working_distance": None,
        "use_limit": 20,
        "optics": {
            "focal_length": "100 mm",
            "beam_diameter_at_lens": "6 mm",
            "beam_quality_m2": "1.1",
        },
    },
    "device.retired": {"reason": "sold"},
    "handpiece.retired": {"reason": "worn out"},
    "eyewear.registered": {
        "label": "G 1",
        "shortest_wavelength": "9000 nm",
        "longest_wavelength": "11500 nm",
        "optical_density": "6",
        "marking": "9000-11500 D LB3",
        "room_id": "r1",
        "note": None,
    },
    "eyewear.inspected": {"outcome": "failed", "note": "scratched"},
    "eyewear.retired": {"reason": "cracked"},
    "key.registered": {"label": "Key 1", "device_id": "d", "kept_at": "locked drawer"},
    "key.moved": {"direction": "out", "holder_id": "p", "holder": None, "note": None},
    "key.retired": {"reason": "lost"},
    "meter.registered": {
        "label": "Meter",
        "serial": "7",
        "calibrated_on": "2026-01-05",
        "due_on": None,
        "uncertainty": "0.05",
        "certificate": "C-1",
    },
    "meter.calibrated": {
        "calibrated_on": "2027-01-04",
        "due_on": "2028-01-04",
        "uncertainty": "0.05",
        "certificate": None,
    },
    "meter.retired": {"reason": "sensor burnt"},
    "inventory.taken": {
        "seen_on": "2026-03-02",
        "items": [
            {
                "kind": "eyewear",
                "subject_id": "g1",
                "label": "G 1",
                "where": "Room 1",
                "state": None,
                "seen": True,
            }
        ],
        "citation": "25 TAC 289.301(j)",
        "note": None,
    },
    "due_rule.set": {"every_days": None, "every_months": 12, "citation": "our own rule"},
    "maintenance.recorded": {
        "device_id": "d",
        "kind": "service",
        "done_on": "2026-02-27",
        "done_by": "A technician of the maker",
        "what": "Mirrors cleaned and aligned",
        "parts": None,
        "power_before": {"expected": "4 W", "measured": "3.4 W"},
        "power_after": {"expected": "4 W", "measured": "3.96 W"},
        "certificates": [
            {
                "sha256": "0" * 64,
                "file_name": "service.pdf",
                "media_type": "application/pdf",
                "size_bytes": 20480,
            }
        ],
        "released_by": "p",
        "restarts_trend": True,
        "next_due_on": "2027-02-27",
    },
    "maintenance.withdrawn": {"reason": "noted for the wrong laser"},
    "incident.recorded": {
        "happened_at": MOMENT,
        "kind": "eye_exposure",
        "harm": "possible",
        "what": "The window was not covered while a visitor passed",
        "people": [{"role": "visitor", "person_id": None}],
        "device_id": "d",
        "handpiece_id": None,
        "settings": SETTINGS,
        "settings_text": "4 W continuous",
        "record_id": None,
        "done_at_once": "Stopped, key out, seen by an eye specialist the same day",
        "device_taken_out": False,
    },
    "incident.assessed": {
        "reportable": "yes",
        "reasons": "a suspected exposure of an eye",
        "citation": "our own rule",
        "to_whom": "the authority",
        "report_by": "2026-03-05",
        "reported_on": None,
    },
    "incident.action_set": {
        "action_id": "a1",
        "what": "A blind for the window",
        "who_id": "p",
        "by_day": "2026-03-20",
        "done_on": None,
    },
    "incident.closed": {"conclusion": "Blind is there; the eye was found unharmed"},
    "incident.reopened": {"reason": "a second visitor came forward"},
    "procedure_kind.listed": {
        "text": "Frenectomy",
        "code": None,
        "notes": "Mark the attachment first",
        "reported": ["epulis excision"],
        "cautions": None,
        "retired": False,
    },
    "list.published": {
        "kind": "time_out",
        "version": 1,
        **LIST,
        "effective_from": "2026-04-01",
        "needs_acknowledgement": True,
    },
    "list.set_aside": {"reason": "already in version 3"},
    "list.acknowledged": {"version": 2},
    "preset.published": {
        "version": 1,
        "name": "Soft cut",
        "procedure_kind_id": None,
        "device_id": "d",
        "handpiece_id": "h",
        "settings": SETTINGS,
        **SPOT,
        "note": None,
        "reviewed_by": "p",
    },
    "preset.withdrawn": {"reason": "Superseded"},
    "rollout.made": {**ROLLED_OUT, "practices": ["p-1"]},
    "list.offered": {**ROLLED_OUT, **FROM_GROUP},
    "list.offer_declined": {"reason": "Ours is stricter"},
    "preset.offered": {
        **ROLLED_OUT,
        **FROM_GROUP,
        "list": None,
        "row": {"name": "Soft cut", "emission.power": "4 W"},
    },
    "preset.offer_declined": {"reason": "No such laser here"},
    "room.drawn": {
        "name": "Room 1",
        "corners": [
            {"x_mm": 0, "y_mm": 0},
            {"x_mm": 4200, "y_mm": 0},
            {"x_mm": 4200, "y_mm": 3600},
        ],
        "openings": [{"kind": "door", "wall": 1, "from_mm": 300, "width_mm": 900}],
        "chairs": [{"x_mm": 2000, "y_mm": 1500, "turn_deg": 90}],
        "source": {"x_mm": 2100, "y_mm": 1500},
    },
    "zone.decided": {
        "device_id": "d",
        "handpiece_id": None,
        "request": {"wavelength": "10.6 um", "emission": {"power": "20 W"}},
        "edition": "ICNIRP 2013",
        "results": {"diffuse_distance": "0.08 m", "optical_density": "3.32"},
        "everybody": False,
        "smaller": {"distance": "1.5 m", "reason": "the door is locked from within"},
    },
    "optic.cleaned": {
        "device_id": "d",
        "what": "output optic",
        "handpiece_id": None,
        "note": "with the maker's swabs",
    },
    "test_cut.referenced": {
        "device_id": "d",
        "handpiece_id": "h",
        "mode": "continuous",
        "settings": SETTINGS,
        "expected_average_power": "4 W",
        "spot_diameter": "0.25 mm",
        "distance": "0 mm",
        "stack": "12 layers of the same towel",
        "wetness": "soaked, wrung out once",
        "cut_length": "40 mm",
        "cut_time": "20 s",
        "note": None,
    },
    "test_cut.recorded": {
        "device_id": "d",
        "reference_id": "r",
        "cut_length": "40 mm",
        "cut_time": "20 s",
        "depths": ["3.5 mm", "3.8 mm"],
        "expected_depth": "3.2 mm",
        "aiming_beam": "fainter",
        "note": None,
    },
    "verification.recorded": {
        "device_id": "d",
        "handpiece_id": "h",
        "mode": "continuous",
        "meter": {"label": "Meter", "serial": "7", "calibrated_on": "2026-01-05"},
        "readings": [
            {
                "settings": SETTINGS,
                "expected_average_power": "4 W",
                "measured": ["3.7 W", "3.8 W", "3.7 W"],
            }
        ],
        "ratio": "0.93",
        "ratio_uncertainty": "0.02",
        "meter_uncertainty": "0.05",
        "verdict": "warn",
        "rule": "a rule",
        "note": None,
    },
    "device.checked": {
        "device_id": "d",
        "kind": "start_of_day",
        "list_id": "l",
        "list_version": 1,
        "list_event_id": "e",
        "title": "Start of day",
        "answers": [ANSWER],
        "verdict": "passed",
        "done_at": MOMENT,
        "note": None,
    },
    "procedure.opened": {
        "patient": PATIENT,
        "procedure": {"procedure_kind_id": None, "text": "Frenectomy", "code": None},
        "site": "upper lip",
        "indication": "tight frenum",
        "why_laser": None,
        "operator_id": "p",
        "supervising_id": None,
        "assistant_ids": ["q"],
        "others_present": None,
        "room": None,
        "device": {**DEVICE, "device_id": "d", "wavelength": "10.6 um", "delivery_part": "arm"},
        "handpiece": {**HANDPIECE, "use_count": None},
        "verification": None,
        "consent": {"by": "patient", "at": MOMENT},
        "anaesthesia": None,
        "alerts_reviewed": True,
        "started_at": MOMENT,
    },
    "timeout.answered": ANSWERED,
    "list.answered": {**ANSWERED, "kind": "after_use"},
    "protection.noted": {
        "heads": 2,
        "eyewear": [
            {
                "label": "EW-1",
                "wavelength": "9000-11500 nm",
                "optical_density": "5.5",
                "wearer": "patient",
            }
        ],
        "evacuator": "5 cm from the site",
        "masks": None,
        "deviations": None,
    },
    "pass.started": {
        "pass_id": "1",
        "number": 1,
        "settings": SETTINGS,
        "verification_event_id": None,
        "preset": {"preset_id": "s", "version": 1, "name": "Soft cut"},
        "changed_from_preset": False,
        **SPOT,
        "distance": "0 mm",
        "dose": {"engine": "1.0.0", "set": {"average_power": "4"}, "delivered": None},
        "handpiece": {**HANDPIECE, "use_count": 3, "device_id": "d"},
        "verification": VERIFICATION,
    },
    "laser.emitted": {"pass_id": "1", "laser_on_time": "12.4 s", "source": "timer", "pulses": 3},
    "procedure.noted": {"text": "Bleeding slight"},
    "procedure.paused": {"reason": None},
    "procedure.resumed": {},
    "procedure.handed_over": {"from_id": "p", "to_id": "q", "role": "operator", "note": None},
    "attachment.added": {
        "attachment_id": "a",
        "kind": "photograph",
        "sha256": "0" * 64,
        "media_type": "image/jpeg",
        "size_bytes": 100,
        "width_px": 640,
        "height_px": 480,
        "caption": None,
        "taken_at": MOMENT,
    },
    "procedure.ended": {"outcome": {"haemostasis": "good", "specimens": None}, "ended_at": MOMENT},
    "entry.withdrawn": {"reason": "Wrong tap"},
    "record.signed": {
        "signer_id": "p",
        "role": "clinician",
        "content_hash": "0" * 64,
        "statement": "Read and true",
    },
    "record.addended": {"text": "Healing well", "reason": "Review"},
    "record.placed_in_chart": {"how": "pdf", "note": None},
    "record.reattributed": {
        "from": PATIENT,
        "to": {"chart_number": "A-2", "second_identifier": "1981"},
        "reason": "Wrong card",
    },
    "record.removed_from_chart": {"because": "e-1", "note": None},
    "record.voided": {"reason": "Opened by mistake"},
}


def test_every_type_has_an_example():
    assert WHOLE.keys() == catalogue.EVENT_TYPES.keys()


@pytest.mark.parametrize("name", WHOLE)
def test_a_whole_payload_fits(name):
    assert catalogue.payload_problems(name, WHOLE[name]) == {}


@pytest.mark.parametrize("name", WHOLE)
def test_fields_that_this_version_does_not_know_are_kept(name):
    assert catalogue.payload_problems(name, {**WHOLE[name], "later": {"any": 1}}) == {}


# All that these say is that it happened, or why, where that is known.
NOTHING_REQUIRED = {
    "emergency.acknowledged",
    "person.left",
    "scope.decided",
    "procedure.paused",
    "procedure.resumed",
}


def required(name):
    schema = catalogue.EVENT_TYPES[name].schema
    return [key for key, field in schema.fields.items() if field.required]


@pytest.mark.parametrize("name", WHOLE)
def test_each_required_field_is_missed_by_its_name(name):
    assert bool(required(name)) == (name not in NOTHING_REQUIRED)
    for key in required(name):
        payload = {k: v for k, v in WHOLE[name].items() if k != key}
        assert list(catalogue.payload_problems(name, payload)) == [key]
        assert key in catalogue.payload_problems(name, {**WHOLE[name], key: None})


@pytest.mark.parametrize("name", WHOLE)
def test_a_float_in_place_of_any_value_is_refused(name):
    """The two languages print the same float differently; the log holds none where we read."""
    for key in WHOLE[name]:
        assert catalogue.payload_problems(name, {**WHOLE[name], key: 0.1}), key


@pytest.mark.parametrize(
    ("name", "path", "value"),
    [
        ("laser.emitted", ["laser_on_time"], "12,4 s"),
        ("laser.emitted", ["laser_on_time"], "12.4 min"),
        ("laser.emitted", ["laser_on_time"], "-1 s"),
        ("laser.emitted", ["source"], "guess"),
        ("laser.emitted", ["pulses"], -1),
        ("laser.emitted", ["pulses"], True),
        ("pass.started", ["settings", "emission", "power"], 4.5),
        ("pass.started", ["number"], 0),
        ("pass.started", ["distance"], "near"),
        ("pass.started", ["preset", "version"], "1"),
        ("pass.started", ["changed_from_preset"], "no"),
        ("procedure.opened", ["started_at"], "2026-03-02T10:15:30"),
        ("procedure.opened", ["consent", "at"], "yesterday"),
        ("procedure.opened", ["patient", "chart_number"], ""),
        ("procedure.opened", ["assistant_ids", 0], "a b"),
        ("timeout.answered", ["answers", 0, "answer"], "maybe"),
        ("timeout.answered", ["answers"], []),
        ("verification.recorded", ["readings", 0, "measured", 1], 3.8),
        ("verification.recorded", ["ratio"], "NaN"),
        ("device.taken_out", ["reason_code"], "a feeling"),
        ("device.taken_out", ["reason"], ""),
        ("device.release_asked", ["tests"], []),
        ("device.release_asked", ["causes"], []),
        ("service.overridden", ["causes"], []),
        ("service.overridden", ["causes", 0, "kind"], "rumour"),
        ("service.overridden", ["reason"], ""),
        ("optic.cleaned", ["what"], "the laser"),
        ("test_cut.referenced", ["distance"], "near"),
        ("test_cut.recorded", ["depths"], []),
        ("test_cut.recorded", ["depths", 0], 3.5),
        ("test_cut.recorded", ["aiming_beam"], "bright"),
        ("record.signed", ["content_hash"], "A" * 64),
        ("timeout.answered", ["answers", 0, "by"], "a b"),
        ("list.answered", ["kind"], "start_of_day"),
        ("list.answered", ["answers"], []),
        ("list.answered", ["within_s"], "30 min"),
        ("list.published", ["within_s"], 59),
        ("list.published", ["effective_from"], "1 April"),
        ("list.published", ["items", 0, "group"], 1),
        ("list.published", ["needs_acknowledgement"], "yes"),
        ("list.published", ["items", 0, "not_applicable"], "sometimes"),
        ("list.set_aside", ["reason"], ""),
        ("list.acknowledged", ["version"], 0),
        ("protection.noted", ["heads"], -1),
        ("protection.noted", ["eyewear", 0, "optical_density"], "5+"),
        ("pass.started", ["handpiece", "handpiece_id"], None),
        ("pass.started", ["verification", "ratio"], 0.93),
        ("procedure.handed_over", ["role"], "boss"),
        ("attachment.added", ["media_type"], "image/png"),
        ("attachment.added", ["sha256"], "a"),
        ("attachment.added", ["size_bytes"], 0),
        ("record.reattributed", ["from", "chart_number"], ""),
        ("record.reattributed", ["to"], None),
        ("handpiece.registered", ["use_limit"], 0),
        ("eyewear.registered", ["optical_density"], "6+"),
        ("eyewear.registered", ["shortest_wavelength"], "infrared"),
        ("eyewear.inspected", ["outcome"], "fine"),
        ("key.moved", ["direction"], "away"),
        ("meter.registered", ["calibrated_on"], "05.01.2026"),
        ("meter.calibrated", ["due_on"], "2028-13-01"),
        ("inventory.taken", ["items"], []),
        ("inventory.taken", ["items", 0, "kind"], "chair"),
        ("inventory.taken", ["items", 0, "seen"], "yes"),
        ("due_rule.set", ["every_days"], 0),
        ("maintenance.recorded", ["kind"], "polish"),
        ("maintenance.recorded", ["power_after", "measured"], ""),
        ("maintenance.recorded", ["certificates", 0, "media_type"], "text/html"),
        ("maintenance.recorded", ["restarts_trend"], None),
        ("incident.recorded", ["harm"], "unknown"),
        ("incident.recorded", ["people", 0, "role"], "passer-by"),
        ("incident.recorded", ["done_at_once"], ""),
        ("incident.assessed", ["reportable"], "perhaps"),
        ("due_rule.set", ["every_months"], 121),
        ("device.retired", ["reason"], ""),
        ("procedure_kind.listed", ["retired"], "no"),
        ("person.registered", ["licence_expires"], "31.01.2027"),
    ],
)
def test_what_could_not_be_understood_later_is_refused_now(name, path, value):
    payload = copy.deepcopy(WHOLE[name])
    inner = payload
    for step in path[:-1]:
        inner = inner[step]
    inner[path[-1]] = value
    problems = catalogue.payload_problems(name, payload)
    assert len(problems) == 1
    named = next(iter(problems))
    assert ".".join(str(step) for step in path).startswith(named)


@pytest.mark.parametrize("payload", [None, [], "text", 1])
def test_a_payload_is_an_object(payload):
    assert catalogue.payload_problems("procedure.noted", payload) == {
        "payload": ["Must be an object."]
    }


@pytest.mark.parametrize("name", WHOLE)
def test_what_is_derived_gets_what_is_declared_and_nothing_else(name):
    payload = WHOLE[name]
    assert catalogue.declared(name, payload) == payload
    more = copy.deepcopy(payload) | {"status": "current", "position": 1}
    assert set(catalogue.declared(name, more)) - set(payload) <= set(
        catalogue.EVENT_TYPES[name].schema.fields
    )


def test_also_inside_of_its_parts():
    said = {"title": "Time-out", "items": [ITEM | {"list_id": "another"}]}
    assert catalogue.declared("list.published", said)["items"] == [ITEM]

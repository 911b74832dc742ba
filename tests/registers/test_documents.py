"""Registers as documents: versions, drafts, withdrawals, and a check judged again."""

import shutil
from decimal import Decimal
from itertools import count

import pytest

from api.devices import project as devices
from api.people import project as people
from api.presets import project as presets
from api.registers import project as things
from api.safety import project as safety
from api.safety import rooms
from api.storage import documents, event_store
from api.storage.engine import open_engine, write

LOCATION = "loc-1"


class Log:
    """Hands entries to projectors as the log would."""

    def __init__(self, connection):
        self.connection = connection
        self.position = 0

    def enter(self, subject, type, entity_id, payload, *, verdict="applied", **body):
        self.position += 1
        subject.project(
            self.connection,
            {
                "position": self.position,
                "received_at": "2026-03-02T08:00:00.000+00:00",
                "verdict": verdict,
                "location_id": LOCATION,
                "event_id": f"e{self.position}",
                "body": {
                    "event_id": f"e{self.position}",
                    "type": type,
                    "entity_id": entity_id,
                    "actor_id": "person-1",
                    "base_version": None,
                    "corrects": None,
                    "occurred_at": "2026-03-02T09:30:00.000+01:00",
                    **body,
                },
                "payload": payload,
                "body_hash": "00" * 32,
            },
        )

    def get(self, kind, doc_id):
        return documents.get(self.connection, LOCATION, kind, doc_id)


@pytest.fixture
def log(tmp_path, migrated_template, clock):
    path = tmp_path / "registers.sqlite3"
    shutil.copy(migrated_template, path)
    engine = open_engine(f"sqlite:///{path}")
    with write(engine) as connection:
        event_store.open_location(connection, LOCATION, epoch="epoch-1", now=clock.now())
        yield Log(connection)
    engine.dispose()


def preset(version, power, **more):
    return {"version": version, "name": "Frenum", "settings": {"power": power}, **more}


def test_a_preset_goes_from_version_to_version(log):
    log.enter(presets, "preset.published", "s1", preset(1, "4 W", note="first"))
    log.enter(presets, "preset.published", "s1", preset(2, "5 W"), base_version=1)
    found = log.get("preset", "s1")
    assert (found["version"], found["settings"], found["status"]) == (
        2,
        {"power": "5 W"},
        "current",
    )
    # What version 2 leaves out is not carried over from version 1.
    assert "note" not in found
    assert (found["published_by"], found["event_id"], found["drafts"]) == ("person-1", "e2", [])


def test_a_version_on_an_old_base_is_a_draft(log):
    log.enter(presets, "preset.published", "s1", preset(1, "4 W"))
    log.enter(presets, "preset.published", "s1", preset(2, "5 W"), base_version=1)
    log.enter(
        presets, "preset.published", "s1", preset(2, "6 W"), base_version=1, verdict="conflict"
    )
    found = log.get("preset", "s1")
    assert (found["version"], found["settings"], found["event_id"]) == (2, {"power": "5 W"}, "e2")
    assert [(one["settings"], one["base_version"]) for one in found["drafts"]] == [
        ({"power": "6 W"}, 1)
    ]
    log.enter(presets, "preset.published", "s1", preset(3, "7 W"), base_version=2)
    assert (log.get("preset", "s1")["version"], len(log.get("preset", "s1")["drafts"])) == (3, 1)


def test_a_draft_alone_is_not_in_force(log):
    log.enter(
        presets, "preset.published", "s1", preset(5, "6 W"), base_version=4, verdict="conflict"
    )
    found = log.get("preset", "s1")
    assert found["status"] == "draft"
    assert "version" not in found


def test_a_withdrawn_preset_says_why_and_keeps_its_numbers(log):
    log.enter(presets, "preset.published", "s1", preset(1, "4 W"))
    log.enter(presets, "preset.withdrawn", "s1", {"reason": "tip no longer sold"})
    found = log.get("preset", "s1")
    assert found["status"] == "withdrawn"
    assert found["withdrawn"] == {
        "event_id": "e2",
        "version": 1,
        "reason": "tip no longer sold",
        "at": "2026-03-02T09:30:00.000+01:00",
        "by": "person-1",
    }
    assert found["settings"] == {"power": "4 W"}
    log.enter(presets, "preset.published", "s1", preset(2, "5 W"), base_version=1, corrects="e2")
    assert (log.get("preset", "s1")["status"], log.get("preset", "s1")["withdrawn"]) == (
        "current",
        None,
    )


def test_lists_have_versions_and_drafts(log):
    items = [{"item_id": "patient", "text": "Patient by two identifiers"}]
    first = {"kind": "time_out", "version": 1, "title": "Time-out", "items": items}
    log.enter(safety, "list.published", "time-out", first)
    log.enter(safety, "list.published", "time-out", {**first, "title": "Other"}, verdict="conflict")
    found = log.get("list", "time-out")
    assert (found["list_id"], found["title"], found["status"]) == (
        "time-out",
        "Time-out",
        "current",
    )
    assert [one["title"] for one in found["drafts"]] == ["Other"]


@pytest.mark.parametrize(
    ("subject", "type", "kind", "id_name"),
    [
        (people, "location.opened", "location", "location_id"),
        (people, "person.registered", "person", "person_id"),
        (people, "tablet.enrolled", "tablet", "tablet_id"),
        (devices, "device.registered", "device", "device_id"),
        (presets, "procedure_kind.listed", "procedure_kind", "procedure_kind_id"),
    ],
)
def test_registers_keep_what_was_said(log, subject, type, kind, id_name):
    log.enter(subject, type, "x1", {"label": "One", "later_field": 1})
    found = log.get(kind, "x1")
    assert (found[id_name], found["label"], found["later_field"]) == ("x1", "One", 1)
    assert (found["status"], found["event_id"]) == ("current", "e1")


def test_a_handpiece_names_its_laser(log):
    log.enter(devices, "handpiece.registered", "h1", {"device_id": "d1", "label": "Tip"})
    assert log.get("handpiece", "h1")["device_id"] == "d1"
    assert log.get("handpiece", "h1")["handpiece_id"] == "h1"


# Each check is one of its own.
NUMBERS = count()


def recorded(log, ratio, verdict, *, times=3, readings=None):
    # By hand: what a meter shows at 10 W set, for each ratio used here.
    shows = f"{Decimal(ratio) * 10} W"
    once = {"expected_average_power": "10 W", "measured": [shows] * times}
    verification_id = f"v{next(NUMBERS)}"
    log.enter(
        devices,
        "verification.recorded",
        verification_id,
        {
            "device_id": "d1",
            "handpiece_id": "h1",
            "mode": "continuous",
            "readings": [once] * 2 if readings is None else readings,
            "ratio": ratio,
            "meter_uncertainty": "0.05",
            "verdict": verdict,
        },
    )
    return log.get("verification", verification_id)


def test_a_check_is_judged_again_and_the_more_severe_verdict_stands(log):
    found = recorded(log, "0.93", "warn")
    assert (found["verdict"], found["flags"]) == ("warn", [])
    assert found["verified_at"] == "2026-03-02T09:30:00.000+01:00"
    assert found["verified_utc"] == "2026-03-02T08:30:00.000+00:00"
    milder = recorded(log, "0.70", "ok")
    assert (milder["verdict"], milder["stated_verdict"]) == ("fail", "ok")
    assert milder["flags"] == ["verdict_differs"]
    # A person may be stricter than the rule: a reading that looked odd.
    assert recorded(log, "1.00", "fail")["verdict"] == "fail"
    assert recorded(log, "1.00", "ok", times=2)["flags"] == ["too_few_readings"]


def reading(expected, *measured):
    return {"expected_average_power": expected, "measured": list(measured)}


@pytest.mark.parametrize(
    ("readings", "flags"),
    [
        # 7 W of 10 W is a ratio of 0.70 at both settings, whatever the summary says.
        ([reading("10 W", "7 W", "7 W", "7 W")] * 2, ["ratio_differs", "verdict_differs"]),
        # 0.78 and 1.20 average to 0.99, but each setting is judged.
        (
            [reading("10 W", *["7.8 W"] * 3), reading("10 W", *["12 W"] * 3)],
            ["verdict_differs"],
        ),
        ([reading("10 J", *["10 W"] * 3)] * 2, ["readings_unreadable", "verdict_differs"]),
    ],
    ids=["other ratio", "one setting off", "no power"],
)
def test_a_check_that_its_own_readings_contradict_feeds_no_dose(log, readings, flags):
    found = recorded(log, "0.99", "ok", readings=readings)
    assert (found["verdict"], found["stated_verdict"]) == ("fail", "ok")
    assert found["flags"] == flags


def test_a_stated_ratio_may_be_rounded_and_readings_may_be_in_other_units(log):
    # (3.7 + 3.8 + 3.7) / 3 / 4 = 0.9333 and (7500 + 7400 + 7300) / 3 / 8000 = 0.925: mean 0.9292.
    readings = [
        reading("4 W", "3.7 W", "3.8 W", "3.7 W"),
        reading("8 W", "7500 mW", "7400 mW", "7300 mW"),
    ]
    assert recorded(log, "0.93", "warn", readings=readings)["flags"] == []
    assert recorded(log, "0.9292", "warn", readings=readings)["flags"] == []
    assert "ratio_differs" in recorded(log, "0.94", "warn", readings=readings)["flags"]


def test_the_latest_check_in_the_house(log):
    made = recorded(log, "0.93", "warn")
    wanted = {"device_id": "d1", "handpiece_id": "h1", "mode": "continuous"}
    found = devices.latest_verification(log.connection, LOCATION, **wanted)
    assert found["verification_id"] == made["verification_id"]
    assert (
        devices.latest_verification(log.connection, LOCATION, **{**wanted, "handpiece_id": "h2"})
        is None
    )


PLAN = {"name": "Room 1", "corners": [], "openings": [], "chairs": [], "source": {}}


def test_a_room_keeps_its_plan_and_one_zone_for_each_laser(log):
    log.enter(rooms, "room.drawn", "room-1", PLAN)
    log.enter(rooms, "zone.decided", "room-1", {"device_id": "arm", "everybody": True})
    log.enter(rooms, "zone.decided", "room-1", {"device_id": "guide", "everybody": True})
    log.enter(rooms, "room.drawn", "room-1", {**PLAN, "name": "Room 1, new door"})
    log.enter(rooms, "zone.decided", "room-1", {"device_id": "arm", "everybody": False})
    room = log.get("room", "room-1")
    assert room["plan"]["name"] == "Room 1, new door"
    assert room["plan"]["event_id"] == "e4"
    assert [(one["device_id"], one["everybody"], one["event_id"]) for one in room["zones"]] == [
        ("guide", True, "e3"),
        ("arm", False, "e5"),
    ]


def test_a_zone_may_be_decided_before_the_room_is_drawn(log):
    log.enter(rooms, "zone.decided", "room-2", {"device_id": "arm", "everybody": True})
    assert log.get("room", "room-2")["plan"] is None


# 10 W over the 3.5 mm aperture against 1000 W/m2: log10 103.94 (by hand).
ZONE = {
    "device_id": "arm",
    "everybody": True,
    "request": {
        "wavelength": "10.6 um",
        "exposure_time": "10 s",
        "emission": {"power": "10 W"},
    },
    "results": {
        "exposure_limit_irradiance": "1000 W/m2",
        "optical_density": "3.016774029933277",
        "en207_d": "4",
    },
}


@pytest.mark.parametrize(
    ("change", "differing"),
    [
        ({}, []),
        ({"results": {**ZONE["results"], "optical_density": "2.0"}}, ["optical_density"]),
        ({"results": {"lens_distance": "0.5 m"}}, ["lens_distance"]),
        ({"results": {"en207_d": "none"}}, ["en207_d"]),
        ({"request": {"wavelength": "10.6 um"}}, ["request"]),
    ],
)
def test_a_zone_is_worked_out_again_from_what_it_carries(log, change, differing):
    log.enter(rooms, "zone.decided", "room-1", {**ZONE, **change})
    assert log.get("room", "room-1")["zones"][0]["differing"] == differing


@pytest.mark.parametrize(
    ("registered", "status"), [("08:59:59.999+01:00", "retired"), ("08:00:00.001+00:00", "current")]
)
@pytest.mark.parametrize("kind", ["device", "handpiece"])
def test_a_registration_from_before_a_retirement_brings_nothing_back(log, kind, registered, status):
    """It was made on a tablet without a network, and came late (RFC 3339 instants)."""
    log.enter(devices, f"{kind}.registered", "d1", {"label": "A"})
    retired = "2026-03-02T09:00:00.000+01:00"
    log.enter(things, f"{kind}.retired", "d1", {"reason": "worn out"}, occurred_at=retired)
    log.enter(
        devices, f"{kind}.registered", "d1", {"label": "B"}, occurred_at=f"2026-03-02T{registered}"
    )
    found = log.get(kind, "d1")
    assert (found["label"], found["status"]) == ("B", status)
    assert ("retired" in found) == (status == "retired")

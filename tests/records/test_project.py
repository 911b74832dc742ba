"""From entries of the log to the stored record: document, index, jobs, flags."""

import pytest

from api.records.doses import differences
from api.records.fold import fold
from api.storage import record_index
from tests.records import fold_vectors as vectors
from tests.records.projected import LOCATION


def test_the_document_is_the_fold_and_what_the_server_saw(log):
    log.enter_all("open", "pass4", "on4", received_at="2026-11-25T09:02:30.000+00:00")
    record = log.record
    folded = fold(log.entries)
    off = {one["event_id"]: one["body"]["clock_offset_ms"] for one in log.entries}
    for line in folded["history"]:
        line["clock_offset_ms"] = off[line["event_id"]]
        line["received_at"] = "2026-11-25T09:02:30.000+00:00"
        # Made at 9:00, 9:02 and 9:02:20 UTC: only the first came more than a minute later.
        line["made_offline"] = line["event_id"] == "e01"
    assert {name: record[name] for name in folded} == folded
    assert record["received"] == {
        "first_received_at": "2026-11-25T09:02:30.000+00:00",
        "last_received_at": "2026-11-25T09:02:30.000+00:00",
        "position": 3,
    }


def test_signing_makes_work_once_for_each_version(log):
    log.enter_all("open", "pass4", "end")
    assert log.jobs() == []
    log.sign()
    first = [("render_pdf", 1), ("render_text", 1)]
    assert log.jobs() == first
    log.enter_all("placed", "late-note")
    assert log.jobs() == first
    log.enter_all("addendum")
    assert log.jobs() == [
        ("render_pdf", 1),
        ("render_pdf", 2),
        ("render_text", 1),
        ("render_text", 2),
    ]
    assert (log.record["status"], log.record["version"]) == ("amended", 2)


def test_the_index_row(log):
    log.enter_all("open", "pass4", "pass45", "end")
    log.sign()
    assert record_index.get(log.connection, LOCATION, "rec") == {
        "record_id": "rec",
        "status": "signed",
        "version": 1,
        "chart_number": "4711",
        "second_identifier": "A. B.",
        "procedure_text": "Frenectomy",
        "site": "upper lip",
        "operator_id": "dent",
        "operator_name": "Dr. Test",
        "device_id": "d1",
        "device_label": "Laser 1",
        "started_at": "2026-11-25T10:00:00.000+01:00",
        "ended_at": "2026-11-25T10:05:00.000+01:00",
        "signed_at": "2026-11-25T10:06:00.000+01:00",
        "passes": 2,
        "placed_at": None,
        "placed_version": None,
        "position": 5,
        "flags": [],
    }


def test_the_tablets_dose_is_worked_out_again(log):
    log.enter_all("open", "pass4")
    assert log.codes == []
    event = vectors.event("pass45")
    dose = {"engine": "1.0.0", "set": {"average_power": "4.50000001"}, "delivered": None}
    log.enter({**event, "payload": {**event["payload"], "dose": dose}})
    assert log.codes == ["dose_differs"]
    assert log.record["flags"][0]["event_id"] == "e05"
    assert "set.average_power" in log.record["flags"][0]["text"]


@pytest.mark.parametrize(
    ("tablet", "found"),
    [
        (None, []),
        ({"engine": "1.0.0", "set": {"average_power": "4"}, "delivered": None}, []),
        ({"engine": "1.0.0", "set": {"average_power": "4.000000003"}}, []),  # 7.5e-10 off
        (
            {"engine": "1.0.0", "set": {"average_power": "4.000000005"}},  # 1.25e-9 off
            ["set.average_power"],
        ),
        ({"engine": "0.9.0", "set": {"average_power": "5"}}, []),
        ({"engine": "1.0.0", "set": {"fluence_mean": "2"}}, ["set.fluence_mean"]),
        (
            {"engine": "1.0.0", "set": {}, "delivered": {"average_power": "4"}},
            ["delivered.average_power"],
        ),
        ({"engine": "1.0.0", "set": {"average_power": "four"}}, ["set.average_power"]),
    ],
)
def test_which_doses_differ(tablet, found):
    ours = {"engine": "1.0.0", "set": {"average_power": 4.0}, "delivered": None}
    assert differences(tablet, ours) == found


@pytest.mark.parametrize(
    ("check", "tip", "codes"),
    [
        ({}, "h1", []),
        ({"handpiece_id": None}, "h1", []),
        ({"ratio": "0.80"}, "h1", ["delivered_unchecked"]),
        ({}, "h2", ["delivered_unchecked"]),
        (None, "h1", ["delivered_unchecked"]),
    ],
    ids=["its own", "of any tip", "another ratio", "another tip", "none"],
)
def test_a_delivered_dose_without_the_check_of_its_tip_is_flagged(log, check, tip, codes):
    """The pass says 0.93 of the set power arrived; its check has to say so too, for its tip."""
    own = vectors.event("open-checked")["payload"]["verification"]
    event = vectors.event("pass4")
    own_tip = {"handpiece_id": tip, "label": "A tip", "kind": None, "use_count": None}
    payload = {
        **event["payload"],
        "handpiece": own_tip,
        "verification": None if check is None else {**own, **check},
        "verification_event_id": None,
    }
    log.enter_all("open-checked")
    log.enter({**event, "payload": payload})
    assert log.codes == codes


def test_settings_of_any_shape_stop_nobody(log):
    event = vectors.event("pass4")
    log.enter_all("open")
    settings = {"wavelength": None, "delivery": ["0.93"], "emission": "on"}
    log.enter({**event, "payload": {**event["payload"], "settings": settings, "dose": None}})
    assert log.codes == ["dose_not_computable"]


def test_a_signature_over_other_entries_is_flagged(log):
    log.enter_all("open", "pass4", "end")
    log.sign("desk-sign")
    assert log.codes == []
    log.enter_all("note")
    assert log.codes == ["content_hash_differs"]
    assert log.record["flags"][0]["event_id"] == "e13"


def test_a_signer_who_is_not_the_author_is_flagged(log):
    log.enter_all("open", "end")
    log.sign(signer_id="somebody else")
    assert log.codes == ["signer_not_author"]


@pytest.mark.parametrize(
    ("offset_ms", "received_at", "offline", "codes"),
    [
        # Made at 10:00:00+01:00 by the tablet's clock.
        (0, "2026-11-25T09:00:01.000+00:00", False, []),
        (None, "2026-11-25T09:01:00.000+00:00", False, []),
        (0, "2026-11-25T09:01:00.001+00:00", True, []),
        (300_000, "2026-11-25T09:05:30.000+00:00", False, []),
        (300_001, "2026-11-25T09:05:30.000+00:00", False, ["clock_wrong"]),
        (-400_000, "2026-11-25T08:53:30.000+00:00", False, ["clock_wrong"]),
        (-400_000, "2026-11-25T09:00:00.000+00:00", True, ["clock_wrong"]),
        # Beyond what any calendar holds, and still no reason to lose the event.
        (2**52, "2026-11-25T09:00:00.000+00:00", False, ["clock_wrong"]),
    ],
)
def test_made_offline_and_wrong_clocks(log, offset_ms, received_at, offline, codes):
    event = vectors.event("open")
    log.enter(
        {**event, "body": {**event["body"], "clock_offset_ms": offset_ms}}, received_at=received_at
    )
    assert log.record["made_offline"] is offline
    assert log.codes == codes

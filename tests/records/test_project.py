"""From entries of the log to the stored record: document, index, jobs, flags."""

import shutil

import pytest

from api.errors import Conflict, NotFound
from api.records import project, service
from api.records.doses import differences
from api.records.fold import fold
from api.records.order import content_hash
from api.storage import access, documents, event_store, jobs, readers, record_index, renderings
from api.storage.engine import open_engine, write
from tests.records import fold_vectors as vectors

LOCATION = "loc"
WHO = {"location_id": LOCATION, "actor_id": "front"}


class Log:
    """Hands the events of the vectors to the projector, one by one, as the log would."""

    def __init__(self, connection, clock, monkeypatch):
        self.connection = connection
        self.now = clock.now()
        self.entries = []
        # The log itself has its own tests; here its reader is a list.
        monkeypatch.setattr(readers, "record_entries", lambda *_: list(self.entries))

    def enter(self, event, *, received_at="2026-11-25T09:10:00.000+00:00"):
        entry = {
            **event,
            "position": len(self.entries) + 1,
            "received_at": received_at,
            "verdict": "applied",
            "location_id": LOCATION,
            "event_id": event["body"]["event_id"],
        }
        self.entries.append(entry)
        project.project(self.connection, entry)

    def enter_all(self, *names, **more):
        for name in names:
            self.enter(vectors.event(name), **more)

    def sign(self, name="sign", **changes):
        event = vectors.event(name)
        covered = content_hash(self.entries)
        payload = {**event["payload"], "content_hash": covered, **changes}
        self.enter({**event, "payload": payload})

    @property
    def record(self):
        return documents.get(self.connection, LOCATION, "record", "rec")

    @property
    def codes(self):
        return [one["code"] for one in self.record["flags"]]

    def jobs(self):
        return sorted(
            (job["kind"], job["version"])
            for job in jobs.of_record(self.connection, LOCATION, "rec")
        )


@pytest.fixture
def log(tmp_path, migrated_template, clock, monkeypatch):
    path = tmp_path / "records.sqlite3"
    shutil.copy(migrated_template, path)
    engine = open_engine(f"sqlite:///{path}")
    with write(engine) as connection:
        event_store.open_location(connection, LOCATION, epoch="epoch-1", now=clock.now())
        person = {"display_name": "Dr. Test", "initials": "DT", "roles": ["clinician"]}
        documents.put(connection, LOCATION, "person", "dent", person, position=0)
        yield Log(connection, clock, monkeypatch)
    engine.dispose()


def test_the_document_is_the_fold_and_what_the_server_saw(log):
    log.enter_all("open", "pass4", "on4", received_at="2026-11-25T09:02:30.000+00:00")
    record = log.record
    folded = fold(log.entries)
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


def test_the_queue_and_its_end(log):
    log.enter_all("open", "pass4", "end")
    assert service.chart_queue(log.connection, **WHO, now=log.now) == []
    log.sign()
    [waiting] = service.chart_queue(log.connection, **WHO, now=log.now)
    assert (waiting["record_id"], waiting["waiting_since"]) == (
        "rec",
        "2026-11-25T10:06:00.000+01:00",
    )
    log.enter_all("placed")
    assert service.chart_queue(log.connection, **WHO, now=log.now) == []
    log.enter_all("placed-taken-back")
    assert len(service.chart_queue(log.connection, **WHO, now=log.now)) == 1


def test_reading_names_people_and_is_written_down(log):
    log.enter_all("open", "pass4")
    found = service.detail(log.connection, **WHO, record_id="rec", now=log.now)
    assert found["people"] == {
        "dent": {
            "display_name": "Dr. Test",
            "initials": "DT",
            "roles": ["clinician"],
            "credential": None,
        }
    }
    listed = service.list_records(log.connection, **WHO, now=log.now, q=" frenectomy ")
    assert [one["record_id"] for one in listed] == ["rec"]
    told = [
        (row["action"], row["actor_id"], row["subject_id"])
        for row in access.entries(log.connection, LOCATION)
    ]
    assert told == [("list", "front", None), ("read", "front", "rec")]


def test_a_foreign_record_and_an_absent_one_answer_alike(log):
    log.enter_all("open")
    for location, record in (("elsewhere", "rec"), (LOCATION, "absent")):
        with pytest.raises(NotFound) as refused:
            service.detail(
                log.connection, location_id=location, actor_id="x", record_id=record, now=log.now
            )
        assert refused.value.code == "record_unknown"


def test_papers(log):
    log.enter_all("open", "pass4", "end")
    wanted = {**WHO, "record_id": "rec", "kind": "pdf", "now": log.now}

    def code():
        with pytest.raises(Conflict) as refused:
            service.rendering(log.connection, **wanted)
        return refused.value.code

    assert code() == "not_signed"
    log.sign()
    assert code() == "not_rendered_yet"
    renderings.put(log.connection, LOCATION, "rec", 1, "pdf", b"paper", made_at=log.now)
    assert service.rendering(log.connection, **wanted)["content"] == b"paper"
    log.enter_all("addendum")
    assert code() == "not_rendered_yet"


def test_a_record_as_it_stood(log):
    log.enter_all("open", "end")
    log.sign()
    log.enter_all("addendum")
    first = service.at_version(log.record, 1)
    assert (first["status"], first["version"], first["addenda"]) == ("signed", 1, [])
    assert service.at_version(log.record, 2) == log.record
    for version in (0, 3):
        with pytest.raises(ValueError, match="versions 1 to 2"):
            service.at_version(log.record, version)

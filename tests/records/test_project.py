"""From entries of the log to the stored record: document, index, jobs, flags."""

import shutil

import pytest

from api.errors import BadInput, Conflict, NotFound
from api.records import lists, project, service
from api.records.doses import differences
from api.records.fold import fold
from api.records.order import content_hash
from api.records.release import release
from api.records.versions import at_version
from api.storage import (
    access,
    documents,
    event_store,
    handpiece_uses,
    jobs,
    readers,
    record_index,
    renderings,
)
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
    for line in folded["history"]:
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


def queue(log, **more):
    return lists.chart_queue(log.connection, **WHO, now=log.now, **{"may_place": True, **more})


def test_the_queue_and_its_end(log):
    log.enter_all("open", "pass4", "end")
    assert queue(log) == {"records": [], "to_remove": []}
    log.sign()
    [waiting] = queue(log)["records"]
    assert (waiting["record_id"], waiting["waiting_since"]) == (
        "rec",
        "2026-11-25T10:06:00.000+01:00",
    )
    assert waiting["changes"] == []
    log.enter_all("placed")
    assert queue(log)["records"] == []
    log.enter_all("placed-taken-back")
    assert len(queue(log)["records"]) == 1


def place(log, event_id, version):
    event = vectors.event("placed")
    body = {**event["body"], "event_id": event_id, "tablet_seq": int(event_id, 36)}
    payload = {**event["payload"], "version": version}
    log.enter({**event, "body": body, "payload": payload})


def test_a_later_version_comes_back_into_the_queue_and_says_why(log):
    log.enter_all("open", "pass4", "end")
    log.sign()
    place(log, "x1", 1)
    assert queue(log)["records"] == []
    log.enter_all("addendum")
    [waiting] = queue(log)["records"]
    assert (waiting["version"], waiting["placed_version"]) == (2, 1)
    assert waiting["changes"] == [
        {
            "kind": "addendum",
            "version": 2,
            "at": "2026-11-25T12:00:00.000+01:00",
            "by_name": "Dr. Test",
            "reason": "later event",
        }
    ]
    place(log, "x2", 2)
    assert queue(log)["records"] == []


def search(log, **wanted):
    return lists.search(log.connection, **WHO, now=log.now, wanted=record_index.Wanted(**wanted))


def test_a_record_moved_away_leaves_a_tombstone_that_names_nobody(log):
    log.enter_all("open", "pass4", "end")
    log.sign()
    log.enter_all("move-late")
    found = search(log, q="4711")
    assert found["records"] == []
    assert found["moved"] == [
        {
            "chart_number": "4711",
            "at": "2026-11-25T10:30:00.000+01:00",
            "by_id": "dent",
            "by_name": "Dr. Test",
            "reason": "wrong card",
        }
    ]
    assert "4713" not in str(found)
    assert [one["record_id"] for one in search(log, q="4713")["records"]] == ["rec"]
    # Asked for as part of a number, or without asking for any, nothing is told.
    assert search(log, q="471")["moved"] == search(log)["moved"] == []
    # Nobody has put it into a chart, so there is nothing to take out of one.
    assert queue(log)["to_remove"] == []


@pytest.mark.parametrize(
    ("reason", "told"),
    [
        ("wrong card", "wrong card"),
        ("belongs to 4713", None),
        ("It is C.D.'s, not his.", None),
        ("card 47131 was meant", "card 47131 was meant"),
    ],
)
def test_a_reason_that_names_the_right_patient_stays_off_the_tombstone(log, reason, told):
    log.enter_all("open", "end")
    log.sign()
    move = vectors.event("move-late")
    log.enter({**move, "payload": {**move["payload"], "reason": reason}})
    assert [one["reason"] for one in search(log, q="4711")["moved"]] == [told]
    assert log.record["reattributions"][0]["reason"] == reason


def test_a_paper_in_the_wrong_chart_is_to_be_removed_and_the_new_one_placed(log):
    log.enter_all("open", "pass4", "end")
    log.sign()
    place(log, "x1", 1)
    log.enter_all("move-late")
    waiting = queue(log)
    assert [one["kind"] for one in waiting["records"][0]["changes"]] == ["reattribution"]
    [paper] = waiting["to_remove"]
    assert (paper["chart_number"], paper["kind"], paper["event_id"]) == ("4711", "moved", "e83")
    # The old number is another patient's: only who works at the charts is told.
    assert queue(log, may_place=False)["to_remove"] == []
    removed = vectors.event("placed")
    removed["body"] |= {
        "event_id": "x3",
        "type": "record.removed_from_chart",
        "tablet_seq": 70,
    }
    log.enter({**removed, "payload": {"because": "e83", "note": None}})
    place(log, "x4", 2)
    assert queue(log) == {"records": [], "to_remove": []}
    assert log.codes == []


def test_a_paper_placed_after_the_move_lies_where_it_belongs(log):
    log.enter_all("open", "pass4", "end")
    log.sign()
    log.enter_all("move-late")
    place(log, "x1", 2)
    assert queue(log) == {"records": [], "to_remove": []}
    # A desk that did not know of the move yet put the first version into the old chart.
    place(log, "x0", 1)
    assert [one["chart_number"] for one in queue(log)["to_remove"]] == ["4711"]


def test_a_void_record_waits_nowhere_and_its_paper_is_to_be_removed(log):
    log.enter_all("open", "pass4", "end")
    log.sign()
    log.enter_all("void")
    assert queue(log) == {"records": [], "to_remove": []}
    place(log, "x1", 1)
    waiting = queue(log)
    assert waiting["records"] == []
    [paper] = waiting["to_remove"]
    assert (paper["kind"], paper["chart_number"]) == ("void", "4711")
    assert [one["status"] for one in search(log, status="void")["records"]] == ["void"]


def test_who_may_not_see_moves_reads_the_record_without_the_old_number(log):
    log.enter_all("open", "end", "move-early")
    full = service.detail(log.connection, **WHO, record_id="rec", now=log.now, may_see_moves=True)
    assert full["reattributions"][0]["from"]["chart_number"] == "4711"
    less = service.detail(log.connection, **WHO, record_id="rec", now=log.now, may_see_moves=False)
    assert less["reattributions"][0]["from"] is None
    assert "4711" not in str(less)


def test_a_release_says_to_whom_and_why_and_is_all_or_nothing(log):
    log.enter_all("open", "pass4", "end")
    asked = {**WHO, "now": log.now, "to": "the patient", "reason": "asked for a copy"}
    with pytest.raises(Conflict, match="no paper"):
        release(log.connection, **asked, record_ids=["rec"])
    log.sign()
    with pytest.raises(NotFound):
        release(log.connection, **asked, record_ids=["rec", "absent"])
    assert access.entries(log.connection, LOCATION) == []
    assert release(log.connection, **asked, record_ids=["rec", "rec"]) == [
        {"record_id": "rec", "version": 1}
    ]
    [noted] = access.entries(log.connection, LOCATION)
    assert (noted["action"], noted["actor_id"], noted["subject_id"]) == ("release", "front", "rec")
    assert noted["detail"] == {"to": "the patient", "reason": "asked for a copy", "version": 1}
    other = {**log.record, "record_id": "other", "patient": {"chart_number": "9"}}
    documents.put(log.connection, LOCATION, "record", "other", other, position=9)
    with pytest.raises(BadInput, match="not of one patient"):
        release(log.connection, **asked, record_ids=["rec", "other"])
    log.enter_all("void")
    with pytest.raises(Conflict, match="void"):
        release(log.connection, **asked, record_ids=["rec"])


def test_reading_names_people_and_is_written_down(log):
    log.enter_all("open", "pass4")
    documents.put(log.connection, LOCATION, "tablet", "A", {"label": "Chair one"}, position=0)
    found = service.detail(log.connection, **WHO, record_id="rec", now=log.now, may_see_moves=True)
    assert found["tablets"] == {"A": "Chair one"}
    assert found["people"] == {
        "dent": {
            "display_name": "Dr. Test",
            "initials": "DT",
            "roles": ["clinician"],
            "credential": None,
        }
    }
    listed = search(log, q=" frenectomy ")
    assert [one["record_id"] for one in listed["records"]] == ["rec"]
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
                log.connection,
                location_id=location,
                actor_id="x",
                record_id=record,
                now=log.now,
                may_see_moves=True,
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
    first = at_version(log.record, 1)
    assert (first["status"], first["version"], first["addenda"]) == ("signed", 1, [])
    assert at_version(log.record, 2) == log.record
    for version in (0, 3):
        with pytest.raises(ValueError, match="versions 1 to 2"):
            at_version(log.record, version)


def test_each_version_has_its_patient_its_addenda_and_its_status(log):
    log.enter_all("open", "end")
    log.sign()
    log.enter_all("addendum", "move-late", "void")
    told = []
    for version in (1, 2, 3, 4):
        record = at_version(log.record, version)
        told.append(
            (
                record["status"],
                record["patient"]["chart_number"],
                len(record["addenda"]),
                len(record["reattributions"]),
                record["voided"] is not None,
            )
        )
    assert told == [
        ("signed", "4711", 0, 0, False),
        ("amended", "4711", 1, 0, False),
        ("amended", "4713", 1, 1, False),
        ("void", "4713", 1, 1, True),
    ]


def test_no_paper_is_made_any_more_with_the_name_of_somebody_else(log):
    log.enter_all("open", "pass4", "move-desk", "end")
    log.sign()
    # By another writer, so it counts as a version of its own; the first one is never written.
    assert log.record["version"] == 2
    assert log.jobs() == [("render_pdf", 2), ("render_text", 2)]


def test_moving_and_voiding_make_papers_of_the_new_version(log):
    log.enter_all("open", "pass4", "end")
    log.sign()
    log.enter_all("move-late")
    assert log.jobs()[-1] == ("render_text", 2)
    log.enter_all("void")
    assert log.jobs()[-1] == ("render_text", 3)


def uses(log, handpiece_id):
    found = documents.get(log.connection, LOCATION, "handpiece_use", handpiece_id)
    return None if found is None else (found["uses"], found["last_used_at"])


def test_a_handpiece_is_used_once_by_a_record_however_often_that_is_projected(log):
    log.enter_all("open")
    assert uses(log, "h1") is None
    log.enter_all("pass45")
    assert uses(log, "h1") == (1, "2026-11-25T09:03:00.000+00:00")
    log.enter_all("two-tips", "tip-unchecked", "on45", "note")
    for entry in log.entries:
        project.project(log.connection, entry)
    assert uses(log, "h1") == (1, "2026-11-25T09:03:00.000+00:00")
    assert uses(log, "h2") == (1, "2026-11-25T09:03:30.000+00:00")


def test_what_is_taken_back_or_void_is_not_counted(log):
    log.enter_all("open", "pass4", "two-tips")
    assert (uses(log, "h1")[0], uses(log, "h2")[0]) == (1, 1)
    log.enter_all("take-back-pass4")
    assert (uses(log, "h1"), uses(log, "h2")[0]) == ((0, None), 1)
    log.enter_all("void")
    assert (uses(log, "h1"), uses(log, "h2")) == ((0, None), (0, None))


def test_uses_of_several_records_add_up_and_can_be_made_anew(log):
    log.enter_all("open", "pass4")
    with_rows = [("other", "2026-11-26T09:00:00.000+00:00"), ("third", "2026-11-20T09:00:00+01:00")]
    for record_id, at in with_rows:
        handpiece_uses.put(log.connection, LOCATION, record_id, {"h1": at})
    assert handpiece_uses.count(log.connection, LOCATION, "h1") == {
        "uses": 3,
        "last_used_at": "2026-11-26T09:00:00.000+00:00",
    }
    # The same again changes nothing, and says so.
    assert handpiece_uses.put(log.connection, LOCATION, "other", {"h1": with_rows[0][1]}) == []
    assert handpiece_uses.put(log.connection, LOCATION, "other", {}) == ["h1"]
    assert handpiece_uses.count(log.connection, LOCATION, "h1")["uses"] == 2
    assert handpiece_uses.count(log.connection, "elsewhere", "h1")["uses"] == 0

"""Records on their way into charts, out of wrong ones, and to whom they are released."""

import pytest

from api.errors import BadInput, Conflict, NotFound
from api.records import lists, service
from api.records.release import release
from api.storage import access, documents
from tests.records import fold_vectors as vectors
from tests.records.projected import LOCATION, WHO, search


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


def test_a_reason_never_stands_under_one_number_and_names_another(log):
    log.enter_all("open", "end")
    log.sign()
    there, on = vectors.event("move-late"), vectors.event("move-desk")
    log.enter({**there, "payload": {**there["payload"], "reason": "4711 was taken for it"}})
    payload = {"from": there["payload"]["to"], "to": on["payload"]["to"], "reason": "not 4711's"}
    log.enter({**on, "payload": payload})
    # Under the first number its own name may stand; under the second it is another's.
    told = {number: search(log, q=number)["moved"] for number in ("4711", "4713")}
    assert [one["reason"] for one in told["4711"]] == ["4711 was taken for it"]
    assert [one["reason"] for one in told["4713"]] == [None]
    shown = service.detail(log.connection, **WHO, record_id="rec", now=log.now, may_see_moves=False)
    assert "4711" not in str(shown) and "4713" not in str(shown)
    assert [one["to"] for one in shown["reattributions"]] == [None, on["payload"]["to"]]
    whole = service.detail(log.connection, **WHO, record_id="rec", now=log.now, may_see_moves=True)
    assert "4711" in str(whole) and "4713" in str(whole)


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


def test_a_paper_is_to_be_removed_also_where_a_late_move_takes_its_version(log):
    log.enter_all("open", "pass4", "end")
    log.sign()
    addendum = vectors.event("addendum")
    addendum["body"] |= {"event_id": "x8", "tablet_id": "D", "tablet_seq": 3}
    log.enter(addendum)
    place(log, "x9", 2)
    assert queue(log) == {"records": [], "to_remove": []}
    # Made by the writer that opened the record, so it counts before the other one's addendum.
    log.enter_all("move-late", received_at="2026-11-25T12:00:00.000+00:00")
    assert [one["cause"] for one in log.record["versions"]] == [
        "signed", "reattribution", "addendum",
    ]  # fmt: skip
    [paper] = queue(log)["to_remove"]
    assert (paper["chart_number"], paper["event_id"]) == ("4711", "e83")
    assert [one["chart_number"] for one in queue(log)["records"]] == ["4713"]


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
    for record_id in ("nobody", "nobody-else"):
        unknown = {**log.record, "record_id": record_id, "patient": None}
        documents.put(log.connection, LOCATION, "record", record_id, unknown, position=9)
    with pytest.raises(BadInput, match="not of one patient"):
        release(log.connection, **asked, record_ids=["nobody", "nobody-else"])
    log.enter_all("void")
    with pytest.raises(Conflict, match="void"):
        release(log.connection, **asked, record_ids=["rec"])

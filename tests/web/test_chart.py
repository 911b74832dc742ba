"""The front desk's work: the queue, what it may take back, what it gives away, wrong patients."""

from io import BytesIO

import pytest
from pypdf import PdfReader

from api.demo.tablet_client import Refused
from api.storage import access
from api.storage.engine import read
from api.work import runner

pytestmark = pytest.mark.both_databases(long=True)

FROM = {"chart_number": "C-1001", "second_identifier": "1980-05-17"}
TO = {"chart_number": "C-2002", "second_identifier": "1971-11-03"}


@pytest.fixture
def practice(whole_practice):
    """The chart concerns every role, so every role is there."""
    return whole_practice


@pytest.fixture
def tablet(practice):
    return practice.tablet("clinician")


@pytest.fixture
def signed(practice, tablet):
    record_id = practice.signed_record(tablet)
    tablet.push()
    return record_id


@pytest.fixture
def front(practice):
    return practice.desk("front_desk")


def _queue(desk):
    return desk.ask("GET", "/chart-queue")


def _place(desk, record_id, version, how="pdf"):
    payload = {"how": how, "note": None, "version": version}
    return desk.command("record.placed_in_chart", record_id, payload)


def _refused(ask, *arguments, **more):
    with pytest.raises(Refused) as refused:
        ask(*arguments, **more)
    return refused.value.code, refused.value.facts["status"]


def _move(tablet, record_id, reason="wrong card in hand"):
    payload = {"from": FROM, "to": TO, "reason": reason}
    tablet.record("record.reattributed", record_id, payload)
    assert [each["outcome"] for each in tablet.push()] == ["applied"]


def test_a_placing_is_taken_back_by_who_may_place(front, signed):
    done = _place(front, signed, 1)
    assert _queue(front)["records"] == []
    front.command("entry.withdrawn", signed, {"reason": "wrong row"}, corrects=done["event_id"])
    assert [each["record_id"] for each in _queue(front)["records"]] == [signed]


def test_the_front_desk_takes_back_nothing_but_what_is_about_the_chart(front, signed):
    history = front.ask("GET", f"/records/{signed}")["history"]
    before = front.ask("GET", f"/records/{signed}")
    for line in history:
        code = _refused(
            front.command, "entry.withdrawn", signed, {"reason": "x"}, corrects=line["event_id"]
        )
        assert code == ("not_allowed", 403), line["type"]
    # Nor by naming a placing of another record, or nothing at all.
    for corrects in ("absent", None):
        assert _refused(
            front.command, "entry.withdrawn", signed, {"reason": "x"}, corrects=corrects
        ) == ("not_allowed", 403)
    assert front.ask("GET", f"/records/{signed}") == before


def test_a_placing_of_another_record_is_not_taken_back(practice, tablet, front, signed):
    other = practice.signed_record(tablet, chart_number="C-3003")
    tablet.push()
    done = _place(front, other, 1)
    assert _refused(
        front.command, "entry.withdrawn", signed, {"reason": "x"}, corrects=done["event_id"]
    ) == ("not_allowed", 403)


def test_a_version_that_is_not_there_cannot_be_placed(front, signed):
    assert _refused(_place, front, signed, 2) == ("version_unknown", 409)


def test_an_addendum_brings_a_placed_record_back(practice, tablet, front, signed):
    _place(front, signed, 1)
    tablet.record("record.addended", signed, {"text": "Healed.", "reason": "seen again"})
    tablet.push()
    [waiting] = _queue(front)["records"]
    assert (waiting["version"], waiting["placed_version"]) == (2, 1)
    [change] = waiting["changes"]
    assert (change["kind"], change["reason"], change["by_name"]) == (
        "addendum",
        "seen again",
        "Test clinician",
    )
    _place(front, signed, 2)
    assert _queue(front)["records"] == []


def test_wrong_patient_from_one_end_to_the_other(practice, clock, tablet, front, signed):
    _place(front, signed, 1)
    _move(tablet, signed)
    queue = _queue(front)
    assert [each["chart_number"] for each in queue["records"]] == ["C-2002"]
    [paper] = queue["to_remove"]
    assert (paper["chart_number"], paper["procedure_text"]) == ("C-1001", "Labial frenectomy")
    assert "C-2002" not in str(paper)
    # Who reads but does not place is not told where the record came from.
    auditor = practice.desk("auditor")
    assert _queue(auditor)["to_remove"] == []
    assert "C-1001" not in str(auditor.ask("GET", f"/records/{signed}"))
    assert "C-1001" in str(front.ask("GET", f"/records/{signed}")["reattributions"])

    because = {"because": paper["event_id"], "note": None}
    assert _refused(auditor.command, "record.removed_from_chart", signed, because)[1] == 403
    done = front.command("record.removed_from_chart", signed, because)
    assert _queue(front)["to_remove"] == []
    front.command("entry.withdrawn", signed, {"reason": "no"}, corrects=done["event_id"])
    assert len(_queue(front)["to_remove"]) == 1
    front.command("record.removed_from_chart", signed, because)
    _place(front, signed, 2)
    assert _queue(front) == {"records": [], "to_remove": []}

    old = front.ask("POST", "/records/search", {"q": "c-1001"})
    assert (old["records"], old["total"]) == ([], 0)
    [tombstone] = old["moved"]
    assert (tombstone["by_name"], tombstone["reason"]) == ("Test clinician", "wrong card in hand")
    assert "C-2002" not in str(old)
    # The paper of the new version names the right patient, and not the other one.
    assert runner.run_once(practice.house.engine, clock) == 4
    text = front.ask("GET", f"/records/{signed}/text")["text"]
    assert "C-2002" in text
    assert "C-1001" not in text


def test_a_reason_that_names_the_other_patient_is_not_in_the_new_chart(
    practice, clock, tablet, front, signed
):
    _place(front, signed, 1)
    _move(tablet, signed, "was opened under C-1001")
    auditor = practice.desk("auditor")
    for desk in (auditor, front):
        assert "C-1001" not in str(_queue(desk)["records"])
    assert "C-1001" not in str(auditor.ask("GET", f"/records/{signed}"))
    runner.run_once(practice.house.engine, clock)
    text = front.ask("GET", f"/records/{signed}/text")["text"]
    assert "C-2002" in text and "C-1001" not in text
    assert "reason: not on paper, as it names another patient" in text
    pdf = PdfReader(BytesIO(front.ask("GET", f"/records/{signed}/pdf")))
    words = " ".join(page.extract_text() for page in pdf.pages)
    assert "C-2002" in words and "C-1001" not in words


def test_a_void_record_is_found_and_asked_for_by_nobody(tablet, front, signed):
    _place(front, signed, 1)
    tablet.record("record.voided", signed, {"reason": "entered twice"})
    tablet.push()
    queue = _queue(front)
    assert queue["records"] == []
    assert [(each["kind"], each["chart_number"]) for each in queue["to_remove"]] == [
        ("void", "C-1001")
    ]
    found = front.ask("POST", "/records/search", {"status": "void"})["records"]
    assert [each["record_id"] for each in found] == [signed]
    release = {"record_ids": [signed], "to": "the patient", "reason": "asked"}
    assert _refused(front.ask, "POST", "/records/release", release) == ("record_void", 409)


def test_a_release_is_in_the_access_log_with_its_reason(practice, front, signed):
    release = {"record_ids": [signed], "to": "the patient", "reason": "asked in writing"}
    for role in ("clinician", "assistant", "auditor"):
        assert _refused(practice.desk(role).ask, "POST", "/records/release", release)[1] == 403
    assert front.ask("POST", "/records/release", release)["records"] == [
        {"record_id": signed, "version": 1}
    ]
    with read(practice.house.engine) as connection:
        [latest, *_] = access.entries(connection, practice.location_id, subject_id=signed)
    assert latest["action"] == "release"
    assert latest["actor_id"] == practice.people["front_desk"]
    assert latest["detail"] == {"to": "the patient", "reason": "asked in writing", "version": 1}


@pytest.mark.parametrize(
    "body",
    [
        {"record_ids": [], "to": "x", "reason": "x"},
        {"record_ids": ["x"], "to": "", "reason": "x"},
        {"record_ids": ["x"], "to": "x"},
        {"record_ids": "x", "to": "x", "reason": "x"},
    ],
)
def test_a_release_without_a_name_or_a_reason_is_refused(front, body):
    assert _refused(front.ask, "POST", "/records/release", body)[1] == 422


def test_a_list_goes_on_where_it_stopped(practice, clock, tablet):
    made = []
    for number in range(5):
        made.append(practice.signed_record(tablet, chart_number=f"C-{number}"))
        clock.advance(600)
    tablet.push()
    front = practice.desk("front_desk")
    seen, cursor = [], None
    while True:
        page = front.ask(
            "POST", "/records/search", {"limit": 2, **({"cursor": cursor} if cursor else {})}
        )
        assert page["total"] >= 5
        seen += [each["record_id"] for each in page["records"]]
        cursor = page["next_cursor"]
        if cursor is None:
            break
        # What comes in meanwhile is newer: it neither repeats a record nor pushes one out.
        practice.signed_record(tablet, chart_number="C-new")
        tablet.push()
        clock.advance(600)
    assert seen == made[::-1]


@pytest.mark.parametrize("cursor", ["x", "W10", "WzEsMl0", "e30"])
def test_a_cursor_of_another_make_is_refused(front, cursor):
    assert _refused(front.ask, "POST", "/records/search", {"cursor": cursor})[1] == 422

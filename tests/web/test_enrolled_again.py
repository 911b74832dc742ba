"""A tablet of which there are two, and one that a restored server has forgotten."""

import copy

import pytest
from sqlalchemy import delete

from api.audit.verify import verify_log
from api.demo.tablet_client import Refused
from api.events import signing
from api.people import certificates
from api.storage import access, readers
from api.storage.engine import read, write
from api.storage.tables import tablet as tablet_table
from api.storage.tables import token

pytestmark = pytest.mark.both_databases(long=True)


@pytest.fixture
def administrator(practice):
    return practice.desk("administrator")


def listed(administrator, tablet) -> dict:
    found = administrator.ask("GET", "/tablets")["tablets"]
    return next(one for one in found if one["tablet_id"] == tablet.identity["tablet_id"])


def copied(tablet):
    """The same tablet a second time, as a copied profile of the browser would be."""
    other = copy.copy(tablet)
    other.outbox = copy.deepcopy(tablet.outbox)
    return other


def forget(practice, tablet):
    """The server was restored from a backup that is older than the tablet's enrolment."""
    tablet_id = tablet.identity["tablet_id"]
    with write(practice.house.engine) as connection:
        connection.execute(delete(token).where(token.c.tablet_id == tablet_id))
        connection.execute(delete(tablet_table).where(tablet_table.c.tablet_id == tablet_id))
    tablet._token = None


def event_ids(practice) -> list[str]:
    with read(practice.house.engine) as connection:
        rows = readers.entries_after(connection, practice.location_id, 0, limit=1000)
    return [row["event_id"] for row in rows]


def test_of_two_of_a_tablet_the_second_stops_with_an_alarm_and_goes_on_enrolled_again(
    practice, administrator
):
    tablet = practice.tablet("clinician")
    tablet.record("procedure_kind.listed", tablet.new_id(), {"text": "Biopsy", "code": None})
    tablet.push()
    other = copied(tablet)
    # Both go on: the other one is heard first.
    other.record("procedure_kind.listed", other.new_id(), {"text": "Incision", "code": None})
    other.push()
    record_id = practice.signed_record(tablet)
    before = event_ids(practice)
    [first, *_] = tablet.push()
    assert (first["outcome"], first["reason"]) == ("fork", "seq_reused")
    assert event_ids(practice) == before
    assert listed(administrator, tablet)["forked_at"] is not None
    with read(practice.house.engine) as connection:
        alarms = [
            row
            for row in access.entries(
                connection, practice.location_id, subject_id=tablet.identity["tablet_id"]
            )
            if row["action"] == "refused"
        ]
    assert [row["detail"] for row in alarms] == [{"outcome": "fork", "reason": "seq_reused"}]

    unsent = [event.item for event in tablet.waiting()]
    old, sealed_under = tablet.identity["tablet_id"], tablet.identity["keep_key"]
    tablet.enrol_again(practice.code())
    assert tablet.identity["tablet_id"] != old
    # What it has sealed stays readable: the key is that of its first enrolment.
    assert tablet.identity["keep_key"] == sealed_under
    who = {"person_id": practice.people["clinician"], "pin": "270618"}
    assert tablet.ask("POST", "/session/pin", who)["keep_key"] == sealed_under
    assert [one["outcome"] for one in tablet.push()] == ["applied"] * 5
    assert event_ids(practice)[-5:] == [item["event_id"] for item in unsent]
    # The texts are those that were made: nothing is doubled, and the signature covers them.
    assert [event.item["body"] for event in tablet.outbox[-5:]] == [item["body"] for item in unsent]
    record = practice.desk("clinician").ask("GET", f"/records/{record_id}")
    assert (record["status"], record["flags"]) == ("signed", [])
    # Sent once more, as if the answer had been lost: the same, and no more.
    for event in tablet.outbox[-5:]:
        event.result = None
    assert [one["outcome"] for one in tablet.push()] == ["duplicate"] * 5
    report = verify_log(practice.house.engine)
    assert report["ok"], report

    # The other one may still hand in, into quarantine.
    other.record("procedure_kind.listed", other.new_id(), {"text": "Excision", "code": None})
    [result] = other.push()
    assert (result["outcome"], result["reason"]) == ("quarantined", "tablet_revoked")
    tablet.sign_in(practice.people["clinician"], "270618")
    tablet.record("procedure_kind.listed", tablet.new_id(), {"text": "Frenectomy", "code": None})
    assert [one["outcome"] for one in tablet.push()] == ["applied"]
    assert verify_log(practice.house.engine)["ok"]


def test_what_had_come_under_the_earlier_enrolment_after_all_is_not_doubled(practice):
    tablet = practice.tablet("clinician")
    practice.signed_record(tablet)
    answers_lost = copied(tablet)
    tablet.push()
    before = event_ids(practice)
    answers_lost.enrol_again(practice.code())
    assert [one["outcome"] for one in answers_lost.push()] == ["duplicate"] * 5
    assert [each for each in event_ids(practice) if each in before] == before
    answers_lost.sign_in(practice.people["clinician"], "270618")
    answers_lost.record(
        "procedure_kind.listed", answers_lost.new_id(), {"text": "Biopsy", "code": None}
    )
    assert [one["outcome"] for one in answers_lost.push()] == ["applied"]
    report = verify_log(practice.house.engine)
    assert report["ok"], report


def test_another_s_entries_are_not_taken_as_one_s_own(practice):
    """Known-bad: what is not an earlier enrolment of its own a tablet does not bring along."""
    mine, other = practice.tablet("clinician"), practice.tablet("clinician")
    event = mine.record("procedure_kind.listed", mine.new_id(), {"text": "Biopsy", "code": None})
    other.record("procedure_kind.listed", other.new_id(), {"text": "Biopsy", "code": None})
    stolen = event.item
    other.outbox[0].item = {
        **stolen,
        "signature": signing.sign(other._key, stolen["body"]),
    }
    [result] = other.push()
    assert (result["outcome"], result["reason"]) == ("quarantined", "envelope_mismatch")


def test_a_certificate_of_another_server_is_worth_nothing(practice):
    tablet = practice.tablet()
    tablet.identity = {
        **tablet.identity,
        "certificate": certificates.issue(
            signing.new_private_key(),
            tablet_id=tablet.identity["tablet_id"],
            location_id=practice.location_id,
            public_key=signing.public_key_text(tablet._key),
            now=practice.clock.now(),
        ),
    }
    code = practice.code()
    with pytest.raises(Refused) as refused:
        tablet.enrol_again(code)
    assert refused.value.code == "certificate_wrong"
    forget(practice, tablet)
    with pytest.raises(Refused) as refused:
        tablet.prove()
    assert refused.value.code == "tablet_unproven"
    # The code was not used up by the refusal.
    tablet.enrol(code)


def test_a_tablet_goes_on_at_its_own_location_only(practice, app, clock):
    from tests.web.practice import Practice

    elsewhere = Practice(app, clock, name="South room", roles=("clinician",))
    with pytest.raises(Refused) as refused:
        practice.tablet().enrol_again(elsewhere.code())
    assert refused.value.code == "other_location"


def test_a_head_of_the_log_is_no_certificate(practice):
    key = practice.house.server_key
    text = '{"epoch":"e","location_id":"l","position":1,"link":"","at":"now"}'
    assert certificates.read(key, {"text": text, "signature": signing.sign(key, text)}) is None


def test_a_forgotten_tablet_is_taken_in_by_its_certificate_and_confirmed_by_a_person(
    practice, administrator
):
    """Sync.md, Restore: unknown but certified goes to quarantine, never 401."""
    tablet = practice.tablet("clinician")
    practice.signed_record(tablet)
    forget(practice, tablet)
    assert [(one["outcome"], one["reason"]) for one in tablet.push()] == [
        ("quarantined", "tablet_unconfirmed")
    ] * 5
    for ask in (
        lambda: tablet.pull(),
        lambda: tablet.ask("GET", "/records"),
        lambda: tablet.sign_in(practice.people["clinician"], "270618"),
    ):
        with pytest.raises(Refused) as refused:
            ask()
        assert refused.value.code == "tablet_unconfirmed"
    one = listed(administrator, tablet)
    assert (one["unconfirmed"], one["quarantined"], one["label"]) == (True, 5, "Chair one")
    path = f"/tablets/{one['tablet_id']}/confirm"
    administrator.ask("POST", path)
    assert listed(administrator, tablet)["unconfirmed"] is False
    with pytest.raises(Refused) as refused:
        administrator.ask("POST", path)
    assert refused.value.code == "not_unconfirmed"
    tablet.sign_in(practice.people["clinician"], "270618")
    tablet.pull()
    tablet.record("procedure_kind.listed", tablet.new_id(), {"text": "Biopsy", "code": None})
    assert [one["outcome"] for one in tablet.push()] == ["applied"]
    assert verify_log(practice.house.engine)["ok"]


def test_a_version_that_does_not_exist_is_not_in_a_chart(practice):
    tablet = practice.tablet("clinician")
    record_id = practice.signed_record(tablet)
    tablet.record("record.placed_in_chart", record_id, {"how": "pdf", "note": None, "version": 1})
    tablet.record("record.placed_in_chart", record_id, {"how": "pdf", "note": None, "version": 2})
    results = tablet.push()
    assert [one["outcome"] for one in results] == ["applied"] * 6 + ["quarantined"]
    assert results[-1]["reason"] == "version_unknown"
    record = practice.desk("front_desk").ask("GET", f"/records/{record_id}")
    assert record["chart"]["version"] == 1

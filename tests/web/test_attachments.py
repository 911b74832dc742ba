"""Photographs: handed in by a tablet, got by whoever may read records."""

import hashlib
import json
from datetime import timedelta

import pytest

from api.audit.verify import verify_log
from api.events import signing
from api.records import attachments
from api.settings import API_PREFIX
from api.storage import access
from api.storage.engine import is_postgresql, read, write
from tests.records import pictures
from tests.web.practice import Practice

pytestmark = pytest.mark.both_databases(long=True)

JPEG = pictures.jpeg()


def address(content: bytes) -> str:
    return f"{API_PREFIX}/attachments/{hashlib.sha256(content).hexdigest()}"


def name(tablet, content=JPEG, record_id=None) -> str:
    """Write the entry that names a photograph, send it, and return its record's id."""
    record_id = record_id or tablet.new_id()
    payload = {
        "attachment_id": "a",
        "kind": "photograph",
        "sha256": hashlib.sha256(content).hexdigest(),
        "media_type": "image/jpeg",
        "size_bytes": len(content),
        "width_px": 64,
        "height_px": 48,
        "caption": None,
        "taken_at": "2026-03-02T10:00:00.000+00:00",
    }
    tablet.record("attachment.added", record_id, payload)
    tablet.push()
    return record_id


def put(practice, tablet, content=JPEG, *, path=None, kind="image/jpeg", named=True):
    if named and tablet and tablet.person and "clinician" in tablet.person["roles"]:
        name(tablet, content)
    return practice.app.test_client().put(
        path or address(content),
        data=content,
        content_type=kind,
        headers=tablet._headers() if tablet else {},
    )


def get(practice, tablet, content=JPEG):
    return practice.app.test_client().get(address(content), headers=tablet._headers())


def accesses(practice, content=JPEG):
    sha256 = hashlib.sha256(content).hexdigest()
    with read(practice.house.engine) as connection:
        rows = access.entries(connection, practice.location_id)
    about = [row for row in reversed(rows) if (row["detail"] or {}).get("photograph") == sha256]
    return [(row["action"], row["subject_id"], row["actor_id"]) for row in about]


def test_what_is_put_is_got_byte_by_byte_and_both_are_written_down(practice):
    tablet = practice.tablet("clinician")
    record_id = name(tablet)
    answer = put(practice, tablet, named=False)
    assert (answer.status_code, answer.json) == (
        200,
        {
            "sha256": hashlib.sha256(JPEG).hexdigest(),
            "size_bytes": len(JPEG),
            "width_px": 64,
            "height_px": 48,
            "new": True,
        },
    )
    found = get(practice, tablet)
    assert (found.status_code, found.content_type, found.data) == (200, "image/jpeg", JPEG)
    assert found.headers["Cache-Control"] == "no-store"
    who = practice.people["clinician"]
    # Whose record it was, and not a hash of which nobody knows whom it shows.
    assert accesses(practice) == [("create", record_id, who), ("read", record_id, who)]


def test_what_no_entry_names_is_not_taken_until_one_does(practice):
    """Otherwise whoever may write records could fill the disk with what belongs to nobody."""
    tablet = practice.tablet("clinician")
    answer = put(practice, tablet, named=False)
    assert (answer.status_code, answer.json["code"]) == (409, "attachment_unnamed")
    assert get(practice, tablet).status_code == 404
    name(tablet)
    assert put(practice, tablet, named=False).json["new"] is True
    assert get(practice, tablet).status_code == 200


def test_one_that_two_records_name_is_written_down_for_both(practice):
    tablet = practice.tablet("clinician")
    both = {name(tablet), name(tablet)}
    put(practice, tablet, named=False)
    get(practice, tablet)
    with read(practice.house.engine) as connection:
        for record_id in both:
            found = access.entries(connection, practice.location_id, subject_id=record_id)
            assert [row["action"] for row in found] == ["read", "create", "change"]


def test_putting_it_again_changes_nothing(practice):
    tablet = practice.tablet("clinician")
    assert put(practice, tablet).json["new"] is True
    again = put(practice, tablet, named=False)
    assert (again.status_code, again.json["new"]) == (200, False)
    assert [action for action, *_ in accesses(practice)] == ["create"]


@pytest.mark.parametrize(
    ("content", "status", "code"),
    [
        (pictures.with_exif(), 422, "attachment_metadata"),
        (b"<svg onload='alert(1)'/>", 422, "attachment_not_jpeg"),
        (JPEG[:-2], 422, "attachment_not_jpeg"),
    ],
)
def test_what_is_no_plain_picture_is_refused(practice, content, status, code):
    answer = put(practice, practice.tablet("clinician"), content)
    assert (answer.status_code, answer.json["code"]) == (status, code)


def test_other_bytes_than_the_hash_names_are_refused(practice):
    tablet = practice.tablet("clinician")
    for path in (address(b"other"), f"{API_PREFIX}/attachments/anything"):
        answer = put(practice, tablet, path=path)
        assert (answer.status_code, answer.json["code"]) == (422, "attachment_hash_differs")
    assert get(practice, tablet).status_code == 404


def test_the_limit(practice):
    tablet = practice.tablet("clinician")
    assert attachments.LIMIT_BYTES == 4194304
    # As long as is allowed: refused for what it is, not for its length.
    longest = b"\xff\xd8" + bytes(attachments.LIMIT_BYTES - 2)
    assert put(practice, tablet, longest).json["code"] == "attachment_not_jpeg"
    answer = put(practice, tablet, longest + b"\x00")
    assert (answer.status_code, answer.json["code"]) == (413, "too_large")


def test_fewer_bytes_than_stated_are_refused(practice):
    tablet = practice.tablet("clinician")
    answer = practice.app.test_client().put(
        address(JPEG),
        data=JPEG,
        content_type="image/jpeg",
        headers=tablet._headers(),
        environ_overrides={"CONTENT_LENGTH": str(len(JPEG) + 5)},
    )
    assert (answer.status_code, answer.json["code"]) == (400, "attachment_broken_off")
    assert get(practice, tablet).status_code == 404


def test_it_has_to_be_sent_as_what_it_is(practice):
    tablet = practice.tablet("clinician")
    for kind in ("application/json", "image/png", "application/octet-stream"):
        answer = put(practice, tablet, kind=kind)
        assert (answer.status_code, answer.json["code"]) == (415, "wrong_media_type")


def test_other_routes_still_take_json_of_their_own_limit_only(practice):
    client, headers = practice.app.test_client(), practice.tablet("clinician")._headers()
    path = f"{API_PREFIX}/records/search"
    picture = client.post(path, data=JPEG, content_type="image/jpeg", headers=headers)
    assert (picture.status_code, picture.json["code"]) == (415, "not_json")
    long = client.post(
        path, data=b" " * (1 << 20) + b"{}", content_type="application/json", headers=headers
    )
    assert (long.status_code, long.json["code"]) == (413, "too_large")


def test_who_may_put_and_who_may_get(whole_practice):
    clinician = whole_practice.tablet("clinician")
    assert put(whole_practice, clinician).status_code == 200
    wanted = {
        "assistant": 200,
        "front_desk": 200,
        "manager": 200,
        "auditor": 200,
        "administrator": 403,
    }
    for role, status in wanted.items():
        tablet = whole_practice.tablet(role)
        # What is handed in is the tablet's matter, as with the entries: nobody's right is asked.
        assert put(whole_practice, tablet, named=False).status_code == 200, role
        assert get(whole_practice, tablet).status_code == status, role


def test_a_tablet_alone_hands_in_what_an_entry_names_and_reads_nothing(practice):
    """As with entries, so that a tablet sends while it is locked."""
    dentist = practice.tablet("clinician")
    record_id = name(dentist)
    alone = practice.tablet()
    alone.prove()
    assert put(practice, alone, b"other", named=False).json["code"] == "attachment_not_jpeg"
    unnamed = put(practice, alone, pictures.jpeg(32, 32), named=False)
    assert (unnamed.status_code, unnamed.json["code"]) == (409, "attachment_unnamed")
    assert put(practice, alone, named=False).json["new"] is True
    # In the log of accesses stands who took it.
    assert accesses(practice) == [("create", record_id, practice.people["clinician"])]
    assert get(practice, alone).status_code == 401


def test_a_stranger_and_a_desk_hand_nothing_in(practice):
    name(practice.tablet("clinician"))
    assert put(practice, None).status_code == 401
    desk = practice.desk("clinician")
    assert desk._transport("PUT", address(JPEG), {}, desk._headers)[0] == 401


def at_desk(desk, content=JPEG) -> tuple:
    """Ask for a photograph at a desk; returns status and body."""
    return desk._transport("GET", address(content), None, desk._headers)


def revoke(practice, tablet) -> None:
    practice.desk("administrator").ask(
        "POST",
        f"/tablets/{tablet.identity['tablet_id']}/revoke",
        {"reason": "It was left on a train"},
    )
    # Its token ended with it; it gets another one to hand in with.
    tablet.prove()


@pytest.mark.both_databases
def test_a_revoked_tablet_s_photographs_are_kept_apart_as_its_entries_are(practice):
    lost = practice.tablet("clinician")
    revoke(practice, lost)
    record_id = name(lost)
    assert lost.outbox[-1].result["outcome"] == "quarantined"
    answer = put(practice, lost, named=False)
    assert (answer.status_code, answer.json["new"]) == (200, True)
    assert put(practice, lost, named=False).json["new"] is False
    # It reads nothing, not even that; and they are part of no record.
    assert get(practice, lost).json["code"] == "tablet_revoked"
    assert practice.desk("clinician").ask("GET", "/records")["records"] == []
    assert get(practice, practice.tablet("clinician")).status_code == 200
    who = practice.people["clinician"]
    assert accesses(practice) == [("create", record_id, who), ("read", record_id, who)]
    # Whoever looks into what was put aside is told which one it is.
    entries = practice.desk("clinician").ask("GET", "/aside")["entries"]
    assert [one["photograph"] for one in entries] == [hashlib.sha256(JPEG).hexdigest()]
    unseen = practice.desk("administrator").ask("GET", "/aside")["entries"]
    assert [one["photograph"] for one in unseen] == [None]
    # Whoever may read records, but not look into what was put aside, does not see it.
    assert at_desk(practice.desk("front_desk"))[0] == 404


@pytest.mark.both_databases
def test_a_photograph_is_kept_also_where_its_entry_names_nobody_as_it_should(practice):
    tablet = practice.tablet("clinician")
    name(tablet, pictures.jpeg(40, 40))
    tablet.record(
        "attachment.added",
        tablet.new_id(),
        {
            **json.loads(tablet.outbox[-1].item["payload"]),
            "sha256": hashlib.sha256(JPEG).hexdigest(),
        },
    )
    item = tablet.outbox[-1].item
    broken = json.dumps({**json.loads(item["body"]), "actor_id": {"who": "knows"}})
    tablet.outbox[-1].item = {
        **item,
        "body": broken,
        "signature": signing.sign(tablet._key, broken),
    }
    tablet.push()
    assert tablet.outbox[-1].result["outcome"] == "quarantined"
    assert put(practice, tablet, named=False).json["new"] is True
    assert [who for _, _, who in accesses(practice)] == [None]


def test_once_its_entry_is_released_the_photograph_is_the_record_s(practice):
    lost = practice.tablet("clinician")
    revoke(practice, lost)
    record_id = practice.signed_record(lost)
    name(lost, record_id=record_id)
    put(practice, lost, named=False)
    desk = practice.desk("clinician")
    waiting = [one["position"] for one in desk.ask("GET", "/aside")["entries"]]
    said = {"positions": waiting, "decision": "release", "reason": "It lay in our own office"}
    desk.ask("POST", "/aside", said)
    assert at_desk(practice.desk("front_desk")) == (200, JPEG)
    assert verify_log(practice.house.engine)["ok"]


def test_what_counted_before_the_tablet_was_revoked_gets_its_photograph_afterwards(practice):
    lost = practice.tablet("clinician")
    record_id = name(lost)
    revoke(practice, lost)
    assert put(practice, lost, named=False).json["new"] is True
    assert get(practice, practice.tablet("clinician")).data == JPEG
    assert accesses(practice)[0] == ("create", record_id, practice.people["clinician"])


def test_ninety_days_after_it_was_revoked_a_tablet_hands_in_no_photograph_either(practice, clock):
    lost = practice.tablet("clinician")
    name(lost)
    revoke(practice, lost)
    clock.advance(timedelta(days=90).total_seconds())
    lost.prove()
    assert put(practice, lost, named=False).json["new"] is True
    clock.advance(1)
    answer = put(practice, lost, named=False)
    assert (answer.status_code, answer.json["code"]) == (403, "tablet_revoked")


def test_a_revoked_tablet_fills_the_disk_with_nothing_that_no_entry_names(practice):
    lost = practice.tablet("clinician")
    revoke(practice, lost)
    for content in (JPEG, pictures.jpeg(40, 40)):
        answer = put(practice, lost, content, named=False)
        assert (answer.status_code, answer.json["code"]) == (409, "attachment_unnamed")


def test_another_location_s_photograph_is_as_if_absent(app, clock, practice):
    put(practice, practice.tablet("clinician"))
    other = Practice(app, clock, name="South room", roles=("clinician",))
    tablet = other.tablet("clinician")
    here, absent = get(other, tablet), get(other, tablet, b"absent")
    assert here.status_code == absent.status_code == 404
    assert here.json == absent.json
    # The same bytes there are another row, and tell nobody that they are here too.
    assert put(other, tablet).json["new"] is True


def test_verifying_the_log_finds_bytes_that_are_not_those_an_entry_names(practice):
    tablet = practice.tablet("clinician")
    # The photograph is the sixth entry about a procedure, which begins behind the house's.
    record_id = practice.signed_record(tablet)
    name(tablet, record_id=record_id)
    named_at = tablet.outbox[-1].result["position"]
    engine = practice.house.engine
    # Not here yet is no damage.
    assert verify_log(engine)["ok"]
    put(practice, tablet, named=False)
    assert verify_log(engine)["ok"]
    if is_postgresql(engine):
        pytest.skip("damage is done by hand to a file")
    with write(engine) as connection:
        connection.exec_driver_sql("DROP TRIGGER attachment_no_update")
        connection.exec_driver_sql("UPDATE attachment SET content = x'ffd8'")
    bad = verify_log(engine)["first_bad"]
    assert (bad["position"], bad["reason"]) == (named_at, "attachment")

"""Photographs of records follow their entries to the group, and come back from it."""

import hashlib
import json

import pytest

from api.audit.verify import verify_log
from api.group import keeping_photographs, photographs
from api.records import attachments as records
from api.storage import attachments, replication
from api.storage.engine import read
from tests.erasure.acts import PICTURE, House, part_of, sha256
from tests.group.conftest import Two
from tests.group.test_erased import put_back
from tests.records import pictures
from tests.web.test_attachments import name
from tests.web.test_attachments import put as hand_in

both = pytest.mark.both_databases
both_long = pytest.mark.both_databases(long=True)
OTHER = pictures.jpeg(width_px=80, height_px=60)
SENT = "/api/v1/group/photographs/"


def there(two: Two, content: bytes = PICTURE) -> bool:
    """Whether the group has the very bytes, under the log in force."""
    [current] = [one for one in two.histories() if one["state"] == "current"]
    with read(two.group.engine) as connection:
        found = attachments.get(connection, current["location_id"], sha256(content))
    return found is not None and found["content"] == content


def waiting(two: Two) -> tuple[int, str | None]:
    group = two.practice.desk("administrator").ask("GET", "/replication")["group"]
    return group["photographs_waiting"], group["problem"]


@pytest.fixture
def pictured(two):
    """A practice with a signed record and its photograph; returns (record_id, tablet)."""
    return House(two.practice).record()


@both
def test_they_follow_the_log_each_once_and_the_status_says_how_many_do_not_yet(two, pictured):
    assert waiting(two) == (1, None)
    done = two.once()
    assert (done["photographs"], waiting(two)) == (1, (0, None))
    assert there(two) and two.same()
    # Nothing is sent, or asked, a second time.
    before = len(two.wire.asked)
    assert two.once()["photographs"] == 0
    assert [one for one in two.wire.asked[before:] if "photograph" in one] == []


def test_the_same_again_changes_nothing_and_a_lost_answer_neither(two, pictured):
    sent = []

    def lose(wire, path, body, headers):
        answer = wire.carry(path, body, headers)
        if path.startswith(SENT):
            sent.append((path, body, headers))
            raise OSError("cut")
        return answer

    two.wire.spoil = lose
    # The log is there, and the contact no failure: the photograph is said, and tried again.
    assert two.once()["photographs"] == 0
    assert two.same()
    assert waiting(two) == (1, "group_unreachable")
    two.wire.spoil = None
    assert two.wire.carry(*sent[0])[0] == 200
    # Known to be there by the group's word, and not sent again.
    assert two.once()["photographs"] == 0
    assert waiting(two) == (0, None)
    assert there(two)


@pytest.mark.parametrize("spoilt", ["bytes", "hash", "unsigned", "location"])
def test_what_is_not_what_the_hash_says_or_not_the_practice_s_is_not_kept(two, pictured, spoilt):
    from api.events import signing
    from api.group import link, words

    def damaged(wire, path, body, headers):
        if not path.startswith(SENT):
            return wire.carry(path, body, headers)
        if spoilt in ("bytes", "unsigned"):
            body = body[:-1] + bytes([body[-1] ^ 1])
        elif spoilt == "hash":
            path = path[:-64] + sha256(OTHER)
        else:
            path = path.replace(two.practice.location_id, "another-place")
        if spoilt != "unsigned":
            text = words.request_text(
                path=path,
                at=headers["Dosebook-At"],
                body=body,
                group_key=link.get(two.settings).group_key,
            )
            headers = {**headers, "Dosebook-Signature": signing.sign(two.house.server_key, text)}
        status, raw = wire.carry(path, body, headers)
        codes.append(json.loads(raw)["code"])
        return status, raw

    codes: list[str] = []
    two.wire.spoil = damaged
    assert two.once()["photographs"] == 0
    assert codes == [
        {
            "bytes": "attachment_hash_differs",
            "hash": "attachment_hash_differs",
            "unsigned": "practice_unknown",
            "location": "location_unknown",
        }[spoilt]
    ]
    assert waiting(two) == (1, "photograph_refused")
    assert not there(two)
    two.wire.spoil = None
    two.once()
    assert there(two)


def test_a_group_that_did_not_look_would_keep_other_bytes(two, pictured, monkeypatch):
    """The known-bad twin: what is kept under a hash without being hashed is found by the check."""

    def blindly(connection, *, location_id, sha256, content, tablet_id, now):
        attachments.put(
            connection,
            location_id,
            sha256,
            OTHER,
            media_type="image/jpeg",
            width_px=80,
            height_px=60,
            received_at=now,
            actor_id=None,
            tablet_id=None,
        )

    monkeypatch.setattr(keeping_photographs.records, "keep", blindly)
    two.once()
    assert verify_log(two.group.engine)["first_bad"]["reason"] == "attachment"


def test_one_that_is_refused_holds_up_neither_the_others_nor_the_log(two, pictured):
    record_id, tablet = pictured
    name(tablet, OTHER, record_id)
    assert hand_in(two.practice, tablet, OTHER, named=False).status_code == 200
    bad = SENT + f"{two.practice.location_id}/{sha256(PICTURE)}"

    def refuse(wire, path, body, headers):
        if path == bad:
            return 413, b'{"code": "too_large", "detail": "The request is too long."}'
        return wire.carry(path, body, headers)

    two.wire.spoil = refuse
    work = two.replication()
    work.tick()
    assert work.failures == 0
    assert two.same() and there(two, OTHER) and not there(two)
    assert waiting(two) == (1, "photograph_refused")
    # It does not make the practice ask on and on either.
    assert not work._something_waits()
    two.wire.spoil = None
    work.tick()
    assert there(two) and waiting(two) == (0, None)


def test_a_contact_sends_so_many_and_the_next_goes_on(two, pictured, monkeypatch):
    monkeypatch.setattr(photographs, "SENT_AT_ONCE", 1)
    record_id, tablet = pictured
    name(tablet, OTHER, record_id)
    hand_in(two.practice, tablet, OTHER, named=False)
    work = two.replication()
    work.tick()
    assert waiting(two) == (1, None)
    assert work._something_waits()
    work.tick()
    assert waiting(two) == (0, None)
    assert there(two) and there(two, OTHER)


def test_an_entry_that_came_meanwhile_goes_before_the_next_photograph(two, pictured, chair):
    record_id, tablet = pictured
    name(tablet, OTHER, record_id)
    hand_in(two.practice, tablet, OTHER, named=False)
    _, note = chair

    def meanwhile(wire, path, body, headers):
        answer = wire.carry(path, body, headers)
        if path.startswith(SENT):
            two.wire.spoil = None
            note("meanwhile")
        return answer

    two.wire.spoil = meanwhile
    assert two.once()["photographs"] == 1
    assert two.once()["photographs"] == 1
    assert two.same()


def test_what_no_entry_names_the_group_does_not_keep(two, pictured):
    two.once()
    house = two.group
    from api.errors import Conflict
    from api.group import link
    from api.group.house import House as GroupHouse

    there_ = GroupHouse(
        engine=house.engine,
        clock=house.clock,
        random=house.random,
        server_key=house.server_key,
        projectors=house.projectors,
    )
    practice_id = link.get(two.settings).practice_id
    with pytest.raises(Conflict) as refused:
        keeping_photographs.keep(
            there_, practice_id, two.practice.location_id, sha256(OTHER), OTHER
        )
    assert refused.value.code == "attachment_unnamed"
    with pytest.raises(Conflict) as refused:
        keeping_photographs.keep(
            there_, "another", two.practice.location_id, sha256(PICTURE), PICTURE
        )
    assert refused.value.code == "location_of_other"


def test_once_a_day_it_is_asked_about_all_so_that_what_the_group_lost_comes_again(two, pictured):
    two.once()
    [current] = two.histories()
    with two.group.engine.connect() as raw:
        raw = raw.execution_options(dosebook_write=True, dosebook_reach=("*",))
        with raw.begin():
            raw.exec_driver_sql("DROP TRIGGER IF EXISTS attachment_no_delete")
            raw.exec_driver_sql("DELETE FROM attachment")
    assert current and not there(two)
    two.once()
    assert not there(two)
    two.clock.advance(photographs.COMPARE_AFTER.total_seconds() + 1)
    assert two.once()["photographs"] == 1
    assert there(two)


def test_a_group_of_an_earlier_version_gets_the_log_and_it_is_said(two, pictured):
    def older(wire, path, body, headers):
        if "/photograph" in path:
            return 404, b'{"code": "not_found", "detail": "There is no such address."}'
        return wire.carry(path, body, headers)

    two.wire.spoil = older
    two.once()
    assert two.same()
    assert waiting(two) == (1, "photographs_not_taken")


@both
def test_it_is_erased_with_its_record_at_the_group_too(two, pictured):
    record_id, _ = pictured
    house = House(two.practice)
    two.once()
    assert there(two)
    house.erase(record_id)
    house.work()
    two.once()
    assert not there(two)
    looking = House.__new__(House)
    looking.engine = two.group.engine
    assert looking.rows_with(part_of(PICTURE).decode("latin-1")) == {}
    assert verify_log(two.group.engine)["ok"]
    with read(two.house.engine) as connection:
        assert replication.photographs_waiting(connection, two.practice.location_id) == []


@pytest.mark.parametrize("spoilt", [False, True])
def test_after_a_fire_they_are_back_but_for_what_was_erased(two, pictured, tmp_path, spoilt):
    record_id, tablet = pictured
    house = House(two.practice)
    other_id = two.practice.signed_record(tablet)
    name(tablet, OTHER, other_id)
    hand_in(two.practice, tablet, OTHER, named=False)
    two.once()
    house.erase(record_id)
    two.once()

    def turned(wire, path, body, headers):
        status, raw = wire.carry(path, body, headers)
        if path.endswith("/restore/photograph"):
            raw = json.dumps({"content": "AAAA"}).encode()
        return status, raw

    two.wire.spoil = turned if spoilt else None
    done, engine = put_back(two, tmp_path / "new")
    assert done["photographs"] == {"kept": int(not spoilt), "spoilt": int(spoilt)}
    with read(engine) as connection:
        found = attachments.hashes(connection, two.practice.location_id, most=9)
    assert found == ([] if spoilt else [sha256(OTHER)])
    assert verify_log(engine)["ok"]
    engine.dispose()


def test_the_limit_is_the_one_that_a_tablet_meets(two):
    """What a tablet may hand in goes on to the group, and nothing longer."""
    path = f"{SENT}{two.practice.location_id}/{hashlib.sha256(b'').hexdigest()}"
    asking = two.group_app.test_client()
    for size, status in ((records.LIMIT_BYTES, 401), (records.LIMIT_BYTES + 1, 413)):
        answer = asking.post(path, data=bytes(size), content_type="image/jpeg")
        assert answer.status_code == status

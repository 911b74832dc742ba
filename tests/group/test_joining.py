"""A practice and a group come to know each other: one code, two keys, and nothing by default."""

import json
from dataclasses import replace

import pytest

from api.errors import BadInput, Conflict
from api.events import signing
from api.group import client, joining, link, words
from api.group.client import Refused
from api.storage.engine import write
from api.sync import first_start


def test_both_know_each_other_afterwards(strangers):
    to = strangers.join()
    assert to.group_key == signing.public_key_text(strangers.group.server_key)
    said = words.read(to.group_key, "certificate", to.certificate)
    mine = signing.public_key_text(strangers.house.server_key)
    assert (said["practice_id"], said["public_key"]) == (to.practice_id, mine)
    assert link.place(strangers.settings).stat().st_mode & 0o777 == 0o600
    assert link.get(strangers.settings) == to


def test_a_code_lets_one_in_once_and_not_for_long(strangers):
    code = strangers.code()
    strangers.join(code)
    with pytest.raises(Refused) as refused:
        strangers.join(code)
    assert refused.value.code == "code_wrong"
    late = strangers.code()
    strangers.clock.advance(3601)
    with pytest.raises(Refused) as refused:
        strangers.join(late)
    assert refused.value.code == "code_wrong"


def test_a_code_that_is_not_whole_is_said_at_its_field(strangers):
    with pytest.raises(BadInput) as refused:
        strangers.join("ABCDE-FGHJK")
    assert list(refused.value.errors) == ["code"]


def test_a_server_with_another_key_gets_neither_code_nor_entry(strangers):
    """The code names the group's key: whoever answers there without it is not the group."""
    code = strangers.code()
    other = signing.new_private_key()
    strangers.group_app.extensions["dosebook"] = replace(strangers.group, server_key=other)
    with pytest.raises(Refused) as refused:
        strangers.join(code)
    assert refused.value.code == "group_other"
    assert strangers.wire.asked == ["/api/v1/group/identity"]


def test_a_group_that_has_another_key_later_is_sent_nothing(two):
    other = signing.new_private_key()
    two.group_app.extensions["dosebook"] = replace(two.group, server_key=other)
    two.wire.asked.clear()
    with pytest.raises(Refused) as refused:
        two.once()
    assert refused.value.code == "group_other"
    assert two.wire.asked == ["/api/v1/group/identity"]


def test_nobody_joins_under_a_key_that_is_not_theirs(strangers):
    """A signature of the practice's own key over this group and this code."""
    thief, whose = signing.new_private_key(), strangers.house.server_key
    code = strangers.code()
    statement = words.say(
        thief,
        "join",
        group_key=signing.public_key_text(strangers.group.server_key),
        code_hash="x",
        name="Not mine",
    )
    body = {
        "code": code[:11],
        "name": "Not mine",
        "public_key": signing.public_key_text(whose),
        "statement": statement,
    }
    status, raw = strangers.wire("/api/v1/group/join", words.to_bytes(body), JSON)
    assert (status, json.loads(raw)["code"]) == (422, "join_unsigned")
    # And the code is still good for whom it was made.
    strangers.join(code)


def test_a_practice_that_is_no_longer_followed_is_let_in_no_more(two):
    two.once()
    with write(two.group.engine) as connection:
        joining.revoke(connection, link.get(two.settings).practice_id, now=two.clock.now())
    with pytest.raises(Refused) as refused:
        two.once()
    assert refused.value.code == "practice_unknown"
    with pytest.raises(Conflict):
        two.code(joining.RESTORE, link.get(two.settings).practice_id)
    # It may join again with a new code, and is the same one as before.
    before = link.get(two.settings).practice_id
    assert two.join().practice_id == before
    two.once()
    assert two.same()


@pytest.mark.parametrize(
    "address",
    [
        "http://group.example",
        "ftp://group.example",
        "group.example",
        "https://me@group.example",
        "https://[group",
        "https://group.example:99999",
        "https://group.example#x",
        "https://group.example/a b",
    ],
)
def test_records_leave_the_machine_by_https_only(address):
    with pytest.raises(BadInput) as refused:
        client.check_address(address)
    assert list(refused.value.errors) == ["address"]


def test_a_damaged_link_is_written_anew_by_joining_and_stops_nothing_else(two):
    link.place(two.settings).write_text("{", encoding="utf-8")
    with pytest.raises(BadInput) as refused:
        two.once()
    assert refused.value.code == "group_unreadable"
    answer = two.practice.app.test_client().get("/api/v1/health")
    assert (answer.status_code, answer.json["group_late"]) == (200, True)
    two.join()
    two.once()
    assert two.same()


def test_the_group_s_own_people_get_a_location_of_their_own(two):
    """Where a practice is followed already, the first administrator still opens the first one."""
    two.once()
    assert first_start.locations(two.group.engine) == []
    made = first_start.create_admin(
        two.group.engine,
        two.clock,
        two.group.server_key,
        location_id=None,
        opening={"practice_name": "Office", "name": "Office", "zone": "UTC"},
        display_name="Sam Standin",
        initials="SS",
        projectors=two.group.projectors,
        random=two.group.random,
    )
    [own] = first_start.locations(two.group.engine)
    assert own["location_id"] == made["location_id"] != two.practice.location_id


@pytest.mark.parametrize(
    "address", ["https://group.example", "http://127.0.0.1:8080", "http://localhost:1/"]
)
def test_addresses_that_may_be_used(address):
    assert client.check_address(address) == address.rstrip("/")


def test_a_group_s_texts_cannot_pass_for_heads_or_for_each_other():
    key = signing.new_private_key()
    receipt = words.say(key, "receipt", practice_id="p")
    public = signing.public_key_text(key)
    assert words.read(public, "receipt", receipt)["practice_id"] == "p"
    assert words.read(public, "met", receipt) is None
    plain = {"text": '{"a":1}', "signature": signing.sign(key, '{"a":1}')}
    assert words.read(public, "receipt", plain) is None


JSON = {"Content-Type": "application/json"}

"""What somebody would try to pass for the group's word, or to do with it."""

import pytest

from api.errors import DomainError
from api.group import client, words
from api.group.client import Refused
from api.storage import readers
from api.storage.engine import read
from tests.group.test_offers import Both

FORGED = {
    "source_id": "theirs",
    "version": 9,
    "title": "Time-out",
    "list": {"kind": "time_out", "title": "Time-out", "items": [{"item_id": "a", "text": "Go"}]},
    "row": None,
    "effective_from": None,
    "note": None,
    "made_at": "2026-03-02T08:00:00.000+00:00",
    "made_by": "Head office",
    "group_name": "Head office",
    "group_key": "AAAA-BBBB-CCCC-DDDD",
}


@pytest.fixture
def whole(two):
    return Both(two)


@pytest.mark.parametrize("type", ["list.offered", "preset.offered", "rollout.made"])
def test_nobody_says_at_a_desk_what_only_the_server_says(whole, type):
    """Whoever may publish lists could else say that the group had offered one."""
    for desk in (whole.here, whole.officer):
        with pytest.raises(DomainError) as refused:
            desk.command(type, "forged", FORGED)
        assert refused.value.code in ("server_only", "not_allowed")
    assert whole.offered() == []


def test_what_a_tablet_says_of_it_is_put_aside(whole):
    practice = whole.two.practice
    tablet = practice.tablet()
    tablet.person = {"person_id": practice.people["safety_officer"]}
    tablet.record("list.offered", "forged", FORGED)
    [result] = tablet.push()
    assert result["outcome"] == "quarantined"
    assert whole.offered() == []
    with read(whole.two.house.engine) as connection:
        [last] = readers.entries_after(
            connection, practice.location_id, result["position"] - 1, limit=1
        )
    assert last["reason"] == "server_only"


@pytest.mark.parametrize(
    "said",
    [
        {"content": None},
        {"content": "a list"},
        {"content": {"list": None, "row": ["4 W"]}, "subject": "preset"},
        {"rollout_ids": None},
        {"rollout_ids": [7]},
    ],
)
def test_a_roll_out_of_no_form_keeps_no_log_from_going_up(whole, monkeypatch, said):
    """Signed by the group's own key, as by a group of a later version or one gone bad."""
    whole.roll_out()
    really = words.say

    def other(key, kind, **stated):
        wanted = "offers" if "rollout_ids" in said else "offer"
        return really(key, kind, **{**stated, **(said if kind == wanted else {})})

    monkeypatch.setattr(words, "say", other)
    with pytest.raises(Refused) as refused:
        whole.two.once()
    assert refused.value.code == "offer_unreadable"
    assert whole.offered() == []
    assert whole.two.same()


def test_an_offer_that_was_declined_is_not_opened_by_saying_it_again(whole, monkeypatch):
    first = whole.roll_out()
    kept = []

    def keep(wire, path, body, headers):
        answer = wire.carry(path, body, headers)
        if path.endswith(("/offer", "/offers")):
            kept.append((path, answer))
        return answer

    whole.two.wire.spoil = keep
    whole.two.once()
    whole.here.command("list.offer_declined", first, {"reason": "Ours is better"})
    answers = dict(kept)
    # Whoever stands in between says once more what the group signed then.
    whole.two.wire.spoil = lambda wire, path, body, headers: (
        answers.get(path) or wire.carry(path, body, headers)
    )
    whole.two.once()
    assert [one["state"] for one in whole.offered()] == ["declined"]
    # Nor is what was said to another practice anything to this one.
    asking = client.Client(
        whole.two.wire,
        whole.two.clock,
        whole.two.house.server_key,
        whole.two.house.random,
        group_key=client.signing.public_key_text(whole.two.group.server_key),
        practice_id="another",
    )
    with pytest.raises(Refused) as refused:
        asking.said("offer", client.json.loads(answers["/api/v1/group/offer"][1]))
    assert refused.value.code == "group_other"


@pytest.mark.parametrize("code", ["x\nnot replicated: all is well", "\x1b[2J", "a" * 99, 7, None])
def test_what_an_answer_says_gets_into_no_log_line_and_no_terminal_as_it_is(code):
    raw = words.to_bytes({"code": code, "detail": "Look:\x1b[2J\nall is well"})
    with pytest.raises(Refused) as refused:
        client._answer(409, raw)
    assert refused.value.code == "refused"
    assert refused.value.message.isprintable()

"""How far behind the group is, as people are told of it."""

import json

import pytest

from api.clock import rfc3339
from api.group import photographs
from api.group.client import Refused
from api.group.status import LATE_AFTER
from api.people.rights import ROLES
from tests.erasure.acts import House
from tests.group.conftest import Two

LAG = ("group_waiting", "group_photographs_waiting", "group_late")


def lag(waiting, photographs, late) -> dict:
    return dict(zip(LAG, (waiting, photographs, late), strict=True))


def answer(two: Two, role="administrator") -> dict:
    return two.practice.desk(role).ask("GET", "/replication")


def health(two: Two) -> dict:
    found = two.practice.app.test_client().get("/api/v1/health").json
    return {name: found[name] for name in LAG}


def test_without_a_group_there_is_nothing_to_be_late(strangers):
    assert answer(strangers)["group"] is None
    assert health(strangers) == lag(None, None, False)


def test_what_waits_since_when_and_after_three_days_that_it_is_late(two, chair):
    _, note = chair
    before = answer(two)["group"]
    assert (before["position"], before["contact_at"], before["key_left"]) == (0, None, False)
    two.once()
    all_there = answer(two)["group"]
    assert (all_there["waiting"], all_there["late"], all_there["key_left"]) == (0, False, True)
    assert all_there["contact_at"] is not None
    two.clock.advance(60)
    note("waits")
    waits = answer(two)["group"]
    assert (waits["waiting"], waits["log_position"] - waits["position"]) == (1, 1)
    # By hand: the clock began at 08:00 and was advanced by a minute.
    assert waits["waiting_since"].startswith("2026-03-02T08:01:00")
    two.clock.advance(LATE_AFTER.total_seconds() - 1)
    assert health(two) == lag(1, 0, False)
    two.clock.advance(2)
    assert health(two) == lag(1, 0, True)
    two.once()
    assert health(two) == lag(0, 0, False)


def test_a_photograph_that_waits_is_late_as_an_entry_is(two):
    """Its entry is there: whoever counted entries alone would say that all is well."""
    House(two.practice).record()
    came = two.clock.now()
    two.wire.spoil = _no_photographs
    two.once()
    behind = answer(two)["group"]
    assert (behind["waiting"], behind["photographs_waiting"], behind["late"]) == (0, 1, False)
    assert behind["photographs_since"] == rfc3339(came)
    two.clock.advance(LATE_AFTER.total_seconds() + 1)
    assert health(two) == lag(0, 1, True)
    two.wire.spoil = None
    two.once()
    assert health(two) == lag(0, 0, False)
    assert answer(two)["group"]["photographs_since"] is None


def _no_photographs(wire, path, body, headers):
    if "/photographs/" in path:
        raise OSError("no route")
    return wire.carry(path, body, headers)


def test_a_problem_is_kept_with_since_when_and_gone_when_it_is_over(two, chair):
    def away(*_):
        raise OSError("no route")

    two.wire.spoil = away
    work = two.replication()
    work.tick()
    first = answer(two)["group"]
    two.clock.advance(60)
    work.tick()
    later = answer(two)["group"]
    assert first["problem"] == later["problem"] == "group_unreachable"
    assert first["problem_since"] == later["problem_since"] < later["tried_at"]
    two.wire.spoil = None
    work.tick()
    assert answer(two)["group"]["problem"] is None


def test_every_problem_has_words_in_both_languages():
    """Each code that can be kept; read out of the tablet program's own words."""
    from pathlib import Path

    texts = Path(__file__).resolve().parents[2] / "pwa/src/text"
    codes = {
        "group_unreachable",
        "group_timeout",
        "group_name_unknown",
        "group_certificate",
        "group_busy",
        "group_answer_broken",
        "group_other",
        "practice_unknown",
        "request_old",
        "group_forked",
        "group_ahead",
        "entry_damaged",
        "location_of_other",
        "writer_of_other",
        photographs.REFUSED,
        photographs.NOT_TAKEN,
    }
    for language in ("en", "es"):
        words = (texts / language / "group.ts").read_text()
        assert [code for code in sorted(codes) if f"    {code}: " not in words] == []


def test_the_group_sees_whom_it_follows_and_a_followed_practice_s_people_do_not(two):
    two.once()
    mine = answer(two)
    assert mine["practices"] == []
    from tests.web.practice import Practice

    office = Practice(two.group_app, two.clock, name="Office", roles=("administrator",))
    [practice] = office.desk("administrator").ask("GET", "/replication")["practices"]
    assert practice["name"] == "Lantern Dental"
    assert [log["state"] for log in practice["logs"]] == ["current"]
    assert "sealed" not in json.dumps(practice)


@pytest.mark.parametrize(
    "roles",
    [("administrator", "clinician"), pytest.param(ROLES, marks=pytest.mark.long)],
    ids=["two roles", "every role"],
)
def test_nobody_of_the_group_s_office_gets_at_a_practice_s_records(two, chair, roles):
    """Roles come from the location's own log; the practice registered nobody of the office."""
    from api.demo.tablet_client import Refused as NotLetIn
    from tests.web.practice import Practice

    tablet, _ = chair
    record_id = two.practice.signed_record(tablet, chart_number="canary-4711")
    tablet.push()
    two.once()
    office = Practice(two.group_app, two.clock, name="Office", roles=roles)
    place = two.practice.location_id
    for role in roles:
        desk = office.desk(role)
        asked = (
            ("GET", f"/records/{record_id}", None),
            ("POST", "/session/location", {"location_id": place}),
            ("POST", "/emergencies/elsewhere", {"location_id": place, "reason": "I want to see"}),
        )
        for method, path, body in asked:
            with pytest.raises(NotLetIn) as refused:
                desk.ask(method, path, body, **{"Idempotency-Key": f"a-key-of-{role}"})
            assert refused.value.facts["status"] in (403, 404, 409), (role, path)
        if role != "administrator":
            assert "canary" not in json.dumps(desk.ask("GET", "/records"))
    assert two.same()


def test_refusals_have_codes(two):
    def refuse(wire, path, body, headers):
        return 403, b'{"code": "some_code", "detail": "no"}'

    two.wire.spoil = refuse
    try:
        two.once()
    except Refused as problem:
        assert problem.code == "some_code"

"""A tablet whose log is not the server's: the server hears of it, and people see and answer it."""

import json

import pytest

from api.audit import verify
from api.demo.tablet_client import Refused
from api.events import chain
from api.settings import API_PREFIX
from api.storage import readers, witnesses
from api.storage.engine import read
from tests.web.practice import Practice


@pytest.fixture
def told(practice: Practice):
    """A practice with a tablet that has told of the log as it is; returns (practice, tablet)."""
    tablet = practice.tablet("clinician")
    practice.signed_record(tablet)
    tablet.push()
    position, link = head_of(practice)
    assert pulled(practice, tablet, position, link).status_code == 200
    return practice, tablet


def head_of(practice):
    with read(practice.house.engine) as connection:
        row = readers.location_row(connection, practice.location_id)
    return row["position"], row["link"].hex()


def pulled(practice, tablet, position, link):
    client = practice.app.test_client()
    query = f"seen_position={position}&seen_link={link}"
    return client.get(f"{API_PREFIX}/sync/pull?{query}", headers=tablet._headers())


def alarms(practice):
    return practice.desk("administrator").ask("GET", "/house?kind=witness_alarm")["documents"]


def rewritten(practice, at):
    """Change what the server noted about an entry, and compute the whole chain anew."""
    with practice.house.engine.begin() as connection:
        for change in ("update", "delete"):
            connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS event_no_{change}")
        rows = connection.exec_driver_sql(
            "SELECT position, header, body FROM event ORDER BY position"
        ).all()
        link = chain.FIRST_LINK
        for position, header, body in rows:
            said = json.loads(header)
            if position == at:
                said["received_at"] = "2026-01-01T00:00:00.000+00:00"
            header = json.dumps(said, ensure_ascii=False, separators=(",", ":"))
            hashes = chain.sha256(header), chain.sha256(body)
            link = chain.link(previous=link, header_hash=hashes[0], body_hash=hashes[1])
            connection.exec_driver_sql(
                "UPDATE event SET header = ?, received_at = ?, header_hash = ?, link = ?"
                " WHERE position = ?",
                (header, said["received_at"], hashes[0], link, position),
            )
        connection.exec_driver_sql("UPDATE location SET link = ?", (link,))


def test_what_a_tablet_followed_is_kept_and_raises_nothing(told):
    practice, tablet = told
    position, link = head_of(practice)
    with read(practice.house.engine) as connection:
        kept = witnesses.between(connection, practice.location_id, after=0, upto=position)
    assert [(one["position"], one["link"].hex()) for one in kept] == [(position, link)]
    assert kept[0]["tablet_id"] == tablet.identity["tablet_id"]
    assert alarms(practice) == []


def test_a_chain_computed_anew_is_heard_of_at_the_next_pull(told):
    practice, tablet = told
    position, link = head_of(practice)
    rewritten(practice, 3)
    # Nothing on the server contradicts itself; what the tablet told of does.
    report = verify.verify_log(practice.house.engine)["first_bad"]
    assert (report["position"], report["reason"]) == (position, "remembered_head")
    assert report["tablet_id"] == tablet.identity["tablet_id"]
    pulled(practice, tablet, position, link)
    [alarm] = alarms(practice)
    assert (alarm["position"], alarm["expected"]) == (position, link)
    assert alarm["tablet_id"] == tablet.identity["tablet_id"] and alarm["answered"] is None
    # Once, however often it pulls.
    pulled(practice, tablet, position, link)
    assert len(alarms(practice)) == 1


def test_a_tablet_raises_the_alarm_itself_and_an_administrator_answers_it(told):
    practice, tablet = told

    def alarm():
        answer = practice.app.test_client().post(
            f"{API_PREFIX}/sync/alarm",
            headers=tablet._headers(),
            json={"position": 4, "expected": "aa" * 32, "found": "bb" * 32},
        )
        assert answer.status_code == 200, answer.text
        return answer.json["new"]

    assert [alarm(), alarm()] == [True, False]
    [one] = alarms(practice)
    desk = practice.desk("administrator")
    desk.command("witness.answered", one["alarm_id"], {"found_out": "A copy was put in its place"})
    [one] = alarms(practice)
    assert one["answered"]["by"] == practice.people["administrator"]
    assert one["answered"]["found_out"] == "A copy was put in its place"
    # What comes after an answer is told anew.
    assert alarm()
    assert len(alarms(practice)) == 2


def test_only_an_administrator_answers_and_nobody_makes_one_up(told):
    practice, _ = told
    said = {"tablet_id": "t", "position": 1, "expected": "a", "found": "b"}
    for role, type, payload in (
        ("clinician", "witness.answered", {"found_out": "nothing"}),
        ("administrator", "witness.alarmed", said),
    ):
        with pytest.raises(Refused) as refused:
            practice.desk(role).command(type, "alarm-1", payload)
        assert refused.value.facts["status"] in (403, 422)


@pytest.mark.parametrize(
    "body",
    [{}, {"position": -1, "expected": "a", "found": "b"}, {"position": 1, "expected": "a"}],
)
def test_what_is_no_alarm_is_refused(told, body):
    practice, tablet = told
    answer = practice.app.test_client().post(
        f"{API_PREFIX}/sync/alarm", headers=tablet._headers(), json=body
    )
    assert answer.status_code == 422
    assert answer.json["errors"]

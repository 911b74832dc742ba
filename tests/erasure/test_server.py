"""Erasing a record on the server: who may, what goes, what stays, and what is said of it."""

from datetime import UTC, date, datetime

import pytest
from sqlalchemy.engine import make_url

from api.demo.desk_client import DeskClient
from api.demo.transport import from_test_client
from api.ids import new_id
from api.records import retention
from api.storage import access, purge
from api.storage.engine import is_postgresql, read, write
from api.work import runner
from tests.erasure import acts
from tests.erasure.acts import MARK, PICTURE, files_with, part_of, refused, sha256
from tests.web.practice import ORIGIN, PASSWORD
from tests.web.test_attachments import get
from tests.web.test_attachments import name as name_picture

both = pytest.mark.both_databases
both_long = pytest.mark.both_databases(long=True)


@both
def test_the_content_goes_and_what_is_chained_stays(house):
    record_id, tablet = house.record()
    other_id, _ = house.record(tablet, picture=None)
    kept = house.document("record", other_id)
    before = house.verified()
    assert before["ok"], before["first_bad"]
    uses = house.document("handpiece_use", "tip-1")["uses"]

    house.ask(record_id)
    done = house.decide(record_id)

    after = house.verified()
    assert after["ok"], after["first_bad"]
    [place] = after["locations"]
    # Six entries: opened, a pass, its laser-on time, ended, signed, a photograph.
    assert len(place["erased"]) == 6
    assert {one["by_position"] for one in place["erased"]} == {done["position"]}
    assert house.payloads(record_id) == [None] * 6

    dentist = house.desk("clinician")
    record = dentist.ask("GET", f"/records/{record_id}")
    assert (record["status"], record["patient"], record["passes"]) == ("erased", None, [])
    assert len(record["history"]) == 6
    assert {line["said"] is None for line in record["history"]} == {True}
    told, people = record["erased"], house.practice.people
    assert (told["asked_by"], told["by"]) == (people["clinician"], people["manager"])
    assert (told["basis"], told["citation"]) == ("request", "House rule 7")
    assert set(record["people"]) >= {people["clinician"], people["manager"]}

    # Papers, photograph, lists and jobs are gone; the other record is as it was.
    assert refused(dentist.ask, "GET", f"/records/{record_id}/pdf").code == "paper_erased"
    assert get(house.practice, tablet).status_code == 404
    rows = dentist.ask("POST", "/records/search", {"q": MARK})["records"]
    assert [row["record_id"] for row in rows] == [other_id]
    assert set(house.jobs_of(record_id)) == {"purge"}
    assert house.document("record", other_id) == kept
    # A tip's count of uses is about the tip; it must not fall.
    assert house.document("handpiece_use", "tip-1")["uses"] == uses

    # That there was access stays, and says nothing of what it was to.
    with read(house.engine) as connection:
        entries = access.entries(connection, house.location_id, subject_id=record_id)
    assert {"change", "read"} <= {one["action"] for one in entries}

    # Everything that is derived comes out the same when it is made anew.
    documents = [house.document(kind, record_id) for kind in ("record", "erasure")]
    tip = house.document("handpiece_use", "tip-1")
    house.rebuilt()
    assert [house.document(kind, record_id) for kind in ("record", "erasure")] == documents
    assert house.document("handpiece_use", "tip-1") == tip
    assert house.verified()["ok"]


@both_long
def test_no_row_of_any_table_holds_it(house):
    record_id, _ = house.record()
    # A chart number that was looked for is no part of the record; it is not written down.
    house.desk("front_desk").ask("POST", "/records/search", {"q": MARK})
    assert set(house.rows_with(MARK)) >= {"payload", "document", "record_index", "rendering"}
    # Of what was said at a desk there is a hash without salt, from which a number can be guessed.
    said = {"text": MARK, "reason": "Forgotten"}
    added = house.desk("clinician").command("record.addended", record_id, said)["event_id"]
    assert "idempotency_key" in house.rows_with(added)
    house.erase(record_id)
    house.work()
    assert house.rows_with(MARK) == {}
    assert house.rows_with(part_of(PICTURE).decode("latin-1")) == {}
    assert "idempotency_key" not in house.rows_with(added)


def test_no_byte_of_it_is_left_in_the_data_folder(house, settings):
    record_id, _ = house.record()
    wanted = (MARK.encode(), part_of(PICTURE))
    assert files_with(settings.data_dir, *wanted) != []
    house.erase(record_id)
    # The known-bad one: rows that were deleted and nothing more are still among the bytes.
    assert files_with(settings.data_dir, *wanted) != []
    house.work()
    assert files_with(settings.data_dir, *wanted) == []
    [told] = house.desk("auditor").ask("GET", "/erasures")["erasures"]
    assert told["rewritten"] is True


@pytest.mark.both_databases(long=True)
def test_on_a_server_its_tables_are_written_anew_by_their_owner(house, database_url, request):
    if not is_postgresql(house.engine):
        return
    server = request.getfixturevalue("postgresql_server")
    record_id, _ = house.record()
    house.erase(record_id)
    house.work()
    # The role that serves owns nothing, and says so instead of leaving it at that.
    assert house.jobs_of(record_id)["purge"] == ("waiting", "purge_by_owner")
    [told] = house.desk("auditor").ask("GET", "/erasures")["erasures"]
    assert told["rewritten"] is False
    [[folder]] = server.run("SHOW data_directory")
    # Other tests have databases of their own on the server, where the same words may lie.
    named = f"FROM pg_database WHERE datname <> '{make_url(database_url).database}'"
    theirs = tuple(f"base/{oid}/" for [oid] in server.run(f"SELECT oid {named}"))
    server.run("CHECKPOINT")
    wanted = (MARK.encode(), part_of(PICTURE))

    def holding():
        # The write-ahead log is recycled in its own time: DEVELOPERS.md says so.
        found = files_with(folder, *wanted)
        return [each for each in found if not each.startswith(("pg_wal/", *theirs))]

    assert holding() != []
    owner = acts.owner_engine(database_url)
    url = owner.url.render_as_string(hide_password=False)
    runner.purge_all(house.engine, house.practice.clock, owner_url=url)
    owner.dispose()
    server.run("CHECKPOINT")
    assert holding() == []
    # And it is known to be done, instead of being tried and refused for ever.
    assert house.jobs_of(record_id)["purge"] == ("done", None)
    [told] = house.desk("auditor").ask("GET", "/erasures")["erasures"]
    assert told["rewritten"] is True


@pytest.mark.long
def test_the_files_are_written_anew_once_for_all_that_was_erased(house, monkeypatch):
    gone = [house.record(picture=None)[0] for _ in range(2)]
    for record_id in gone:
        house.erase(record_id)
    written = []
    monkeypatch.setattr(purge, "purge", lambda _engine, owner_url: written.append(owner_url))
    house.work()
    assert written == [None]
    assert {house.jobs_of(record_id)["purge"] for record_id in gone} == {("done", None)}


@both_long
def test_two_people_with_the_right_and_no_others(house):
    record_id, _ = house.record(picture=None)
    for role in ("assistant", "front_desk", "auditor", "safety_officer", "administrator"):
        assert refused(house.ask, record_id, role).facts["status"] == 403
    assert refused(house.ask, "no-such-record").code == "record_unknown"
    assert refused(house.decide, record_id).code == "erasure_not_asked"
    house.ask(record_id)
    assert refused(house.ask, record_id, "manager").code == "erasure_waits"
    assert refused(house.decide, record_id, "clinician").code == "second_person_needed"
    for role in ("front_desk", "auditor", "administrator"):
        assert refused(house.decide, record_id, role).facts["status"] == 403
    silent = refused(house.decide, record_id, decision="decline")
    assert list(silent.facts["problem"]["errors"]) == ["reason"]
    house.decide(record_id, decision="decline", reason="We still need it")
    assert None not in house.payloads(record_id)
    seen = house.look(record_id)
    assert (seen["erasure"]["status"], seen["entries"]) == ("declined", 5)
    assert seen["erasure"]["declined"]["reason"] == "We still need it"
    house.ask(record_id)
    house.decide(record_id)
    assert refused(house.ask, record_id).code == "nothing_to_erase"
    [told] = house.desk("auditor").ask("GET", "/erasures")["erasures"]
    assert told["asked"]["reason"] == acts.REQUEST["reason"]
    assert (told["status"], told["entries"]) == ("erased", 5)


@both_long
def test_nobody_makes_up_a_second_person(house, clock):
    """Whoever looks after people has the right too, and could register, or become, the other."""
    practice, people = house.practice, house.practice.people
    record_id, _ = house.record(picture=None)
    manager, second = house.desk("manager"), new_id(clock.now())
    said = {
        "display_name": "Second",
        "initials": "S",
        "credential": None,
        "licence_expires": None,
        "roles": ["manager"],
    }
    manager.command("person.registered", second, said)
    made_up = entered(house, second, "invite", "made up")
    # As whoever asks, as whoever decides: neither.
    path = f"/records/{record_id}/erasure"
    in_a_week = "2026-03-09T08:0"
    too_new = refused(made_up.ask, "POST", path, acts.REQUEST)
    assert (too_new.code, too_new.facts["status"]) == ("too_new_to_decide", 403)
    assert too_new.facts["problem"]["from"].startswith(in_a_week)
    assert made_up.ask("GET", path)["counts_from"] == too_new.facts["problem"]["from"]
    house.ask(record_id, "manager")
    decision = {"decision": "erase"}
    assert refused(made_up.ask, "POST", f"{path}/decision", decision).code == "too_new_to_decide"
    # Nor as somebody who has been here for long, by a password that was set for them.
    assert house.look(record_id, "clinician")["counts_from"] is None
    taken = entered(house, people["clinician"], "reset", practice.sign_in_name("clinician"))
    assert refused(taken.ask, "POST", f"{path}/decision", decision).code == "too_new_to_decide"
    # No harm is done by saying no.
    taken.ask("POST", f"{path}/decision", {"decision": "decline", "reason": "Not asked for"})
    house.ask(record_id, "manager")
    # With a role that lacks the right for a day, the time begins anew.
    clock.advance(86400 * 5)
    house._desks.clear()
    for roles in (["assistant"], ["manager"]):
        house.desk("manager").command("person.registered", second, {**said, "roles": roles})
    clock.advance(86400 * 3)
    house._desks.clear()
    made_up.sign_in("made up", PASSWORD)
    assert refused(made_up.ask, "POST", f"{path}/decision", decision).code == "too_new_to_decide"
    assert None not in house.payloads(record_id)
    # The dentist's week is over.
    taken.sign_in(practice.sign_in_name("clinician"), PASSWORD)
    assert taken.ask("GET", path)["counts_from"] is None
    taken.ask("POST", f"{path}/decision", decision)
    assert set(house.payloads(record_id)) == {None}


def entered(house, person_id: str, purpose: str, sign_in: str) -> DeskClient:
    """Make a link for somebody as the manager, use it, and sign in with what it set."""
    practice = house.practice
    link = house.desk("manager").ask("POST", f"/people/{person_id}/link", {"purpose": purpose})
    desk = DeskClient(from_test_client(practice.app.test_client()), practice.clock, origin=ORIGIN)
    token = link["path"].split("/")[-1]
    means = {"token": token, "sign_in": sign_in, "password": PASSWORD}
    desk.ask("POST", "/links/use", means)
    desk.sign_in(sign_in, PASSWORD)
    return desk


@pytest.mark.long
@both_long
def test_what_is_wrong_is_said_at_its_field(house):
    record_id, _ = house.record(picture=None)
    for name, value in (("citation", " "), ("reason", ""), ("override", None), ("basis", "whim")):
        problem = refused(house.ask, record_id, **{name: value}).facts["problem"]
        assert list(problem["errors"]) == [name]
    assert None not in house.payloads(record_id)


@pytest.mark.long
@both_long
def test_the_longest_rule_counts_and_a_hold_beats_all(house, clock):
    record_id, _ = house.record(picture=None)
    ended = {"basis": "retention_ended", "override": None}
    # Without a rule no time is over.
    assert refused(house.ask, record_id, **ended).code == "retention_not_over"
    house.rule()
    seen = house.look(record_id)
    # Its last entry is of 2 March 2026; ten years from there, by hand.
    assert (seen["last_day"], seen["keep_until"]) == ("2026-03-02", "2036-03-02")
    assert (seen["rule"]["citation"], seen["over"]) == ("House rule 3", False)
    assert refused(house.ask, record_id, **ended).code == "retention_not_over"

    clock.advance((datetime(2036, 3, 2, 12, tzinfo=UTC) - clock.now()).total_seconds())
    house._desks.clear()
    assert refused(house.ask, record_id, **ended).code == "retention_not_over"
    clock.advance(86400)
    house._desks.clear()
    house.desk("clinician").command("retention.held", record_id, {"reason": "A court asks"})
    assert refused(house.ask, record_id, **ended).code == "record_held"
    assert refused(house.ask, record_id).code == "record_held"
    house.desk("clinician").command("retention.hold_ended", record_id, {"reason": "Settled"})
    house.ask(record_id, **ended)
    # Held after it was asked for: what was looked at then is looked at again.
    house.desk("clinician").command("retention.held", record_id, {"reason": "Once more"})
    assert refused(house.decide, record_id).code == "record_held"
    house.desk("clinician").command("retention.hold_ended", record_id, {"reason": "Settled"})
    house.decide(record_id)
    assert house.payloads(record_id) == [None] * 5


def test_a_rule_counts_years_by_the_calendar():
    """Worked by hand: 29 February has no like in 2030, so its time ends on 1 March."""
    rules = [{"years": 6}, {"years": 1}]
    assert retention.keep_until(date(2024, 2, 29), rules)[0] == date(2030, 3, 1)
    assert retention.keep_until(date(2024, 2, 28), rules)[0] == date(2030, 2, 28)
    assert retention.keep_until(date(2024, 2, 28), []) is None
    assert retention.keep_until(date(9990, 1, 1), [{"years": 50}])[0] == date.max
    assert not retention.is_over(date(2030, 3, 1), date(2030, 3, 1))
    assert retention.is_over(date(2030, 3, 1), date(2030, 3, 2))
    assert not retention.is_over(None, date(9999, 1, 1))
    # A clock that was behind must not shorten the time: the later of the two counts.
    entry = {"body": {"occurred_at": "1999-01-01T08:00:00.000+00:00"}, "received_at": "2026-03-02"}
    assert retention.last_day([entry]) == date(2026, 3, 2)
    # What was put aside because its time cannot be read has come on a day all the same.
    for moment in ("some time", 20260302, None, ["2030-01-01"]):
        aside = {"body": {"occurred_at": moment}, "received_at": "2026-03-03T08:00:00.000+00:00"}
        assert retention.last_day([entry, aside]) == date(2026, 3, 3)
    assert retention.last_day([{"body": None, "received_at": "2026-03-03"}]) == date(2026, 3, 3)


@both_long
def test_a_tablet_that_hands_it_in_again_brings_nothing_back(house):
    record_id, tablet = house.record()
    house.erase(record_id)
    for event in tablet.outbox:
        event.result = None
    assert {one["outcome"] for one in tablet.push()} == {"duplicate"}
    assert house.payloads(record_id) == [None] * 6
    assert house.rows_with(MARK) == {}
    # Nor does its photograph come back: no record names it any more.
    answer = acts.put(house.practice, tablet, PICTURE, named=False)
    assert answer.status_code in (403, 404, 409)
    assert house.verified()["ok"]


@both
def test_what_was_written_later_stays_in_sight_until_it_is_erased_too(house):
    record_id, tablet = house.record(picture=None)
    house.ask(record_id)
    tablet.record("procedure.noted", record_id, {"text": f"late {MARK}"})
    tablet.push()
    # It was not asked about this: whoever decides has to see the record as it is now.
    assert refused(house.decide, record_id).code == "record_changed"
    house.decide(record_id, decision="decline", reason="There is more")
    house.erase(record_id)
    tablet.record("procedure.noted", record_id, {"text": f"later {MARK}"})
    tablet.push()
    record = house.desk("clinician").ask("GET", f"/records/{record_id}")
    assert record["status"] != "erased"
    assert record["erased"]["citation"] == "House rule 7"
    seen = house.look(record_id)
    assert (seen["entries"], seen["erasure"]["status"]) == (1, "erased")
    house.erase(record_id)
    assert house.desk("clinician").ask("GET", f"/records/{record_id}")["status"] == "erased"
    assert house.rows_with(MARK) == {}
    report = house.verified()
    assert report["ok"] and len(report["locations"][0]["erased"]) == 7


def test_no_paper_is_promised_of_what_was_signed_after_the_rest_was_erased(house):
    tablet = house.practice.tablet("clinician")
    record_id = house.practice.signed_record(tablet, chart_number=MARK)
    # The tablet went out of reach before the end and the signature.
    signed = tablet.outbox[-2:]
    del tablet.outbox[-2:]
    tablet.push()
    house.erase(record_id)
    tablet.outbox += signed
    assert [one["outcome"] for one in tablet.push()] == ["applied"] * 2
    house.work()
    dentist = house.desk("clinician")
    record = dentist.ask("GET", f"/records/{record_id}")
    assert (record["version"], record["status"]) == (1, "signed") and record["erased"]
    assert set(house.jobs_of(record_id)) == {"purge"}
    for kind in ("pdf", "text"):
        assert refused(dentist.ask, "GET", f"/records/{record_id}/{kind}").code == "paper_erased"
    given = {"record_ids": [record_id], "to": "A colleague", "reason": "Asked for"}
    manager = house.desk("manager")
    assert refused(manager.ask, "POST", "/records/release", given).code == "paper_erased"
    # The desk is not left with a paper to put into a chart that nobody can make.
    assert house.desk("front_desk").ask("GET", "/chart-queue")["records"] == []


@pytest.mark.long
@both_long
def test_what_was_put_aside_goes_too_and_cannot_be_released(house):
    practice = house.practice
    tablet = practice.tablet("clinician")
    record_id = practice.signed_record(tablet, chart_number=MARK)
    administrator = house.desk("administrator")
    administrator.ask(
        "POST", f"/tablets/{tablet.identity['tablet_id']}/revoke", {"reason": "Left on a train"}
    )
    tablet.push()
    seen = house.look(record_id)
    assert (seen["entries"], seen["aside"], seen["status"]) == (5, 5, None)
    house.erase(record_id)
    assert house.rows_with(MARK) == {}
    assert house.verified()["ok"]
    aside = administrator.ask("GET", "/aside")["entries"]
    assert {one["obstacle"] for one in aside} == {"erased"}
    decision = {"positions": [aside[0]["position"]], "decision": "release", "reason": "x"}
    assert refused(administrator.ask, "POST", "/aside", decision).code == "aside_not_releasable"


@pytest.mark.long
@both_long
def test_a_picture_that_another_record_shows_stays(house):
    record_id, tablet = house.record()
    other_id, _ = house.record(tablet, picture=None)
    name_picture(tablet, PICTURE, other_id)
    house.erase(record_id)
    assert get(house.practice, tablet).status_code == 200
    assert house.look(other_id)["photographs"] == 1
    house.erase(other_id)
    assert get(house.practice, tablet).status_code == 404


@pytest.mark.long
@both_long
def test_a_paper_that_was_being_made_is_not_kept(house):
    record_id, _ = house.record(picture=None)
    house.erase(record_id)
    with write(house.engine) as connection:
        from api.storage import renderings

        stored = renderings.put(
            connection,
            house.location_id,
            record_id,
            1,
            "text",
            MARK.encode(),
            made_at=house.practice.clock.now(),
        )
    assert stored is None
    assert house.rows_with(MARK) == {}


@pytest.mark.long
@both_long
def test_a_proof_says_that_the_content_was_erased_and_still_proves_a_paper(house, tmp_path):
    from api.audit import proof, proof_check

    record_id, _ = house.record()
    dentist = house.desk("clinician")
    with read(house.engine) as connection:
        paper = connection.exec_driver_sql("SELECT content FROM rendering").scalars().first()
    done = house.erase(record_id)
    house_of = house.practice.house
    with read(house.engine) as connection:
        made = proof.prove(
            connection,
            house_of.server_key,
            house_of.clock,
            location_id=house.location_id,
            record_id=record_id,
            payloads=True,
        )
    report = proof_check.check(made, paper=bytes(paper))
    assert report["holds"], report["reason"]
    assert {one["by_position"] for one in report["erased"]} == {done["position"]}
    assert {one["citation"] for one in report["erased"]} == {"House rule 7"}
    assert report["payloads"] == 0
    assert report["paper"]["sha256"] == sha256(bytes(paper))
    assert dentist.ask("GET", f"/records/{record_id}/proof")["result"]["holds"]
    # Known-bad: content that is missing by nobody's word, and a word that the server did not sign.
    other = {**made, "erased": {**made["erased"], "text": made["erased"]["text"] + " "}}
    assert proof_check.check(other)["reason"] == "erased"

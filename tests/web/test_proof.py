"""The address that a paper's QR code leads to: what is proved, to whom, and beside which paper."""

import json

import pytest

from api.audit import proof_check
from api.demo.tablet_client import Refused
from api.handover import source
from api.storage.engine import read
from api.work import runner
from tests.web.practice import Practice


@pytest.fixture
def signed(practice: Practice):
    tablet = practice.tablet("clinician")
    record_id = practice.signed_record(tablet)
    tablet.push()
    runner.run_once(practice.house.engine, practice.clock, origin="https://dose.example")
    return practice, tablet, record_id


def address_of(practice, record_id):
    """Return what stands behind the last parts of the address on the record's paper."""
    with read(practice.house.engine) as connection:
        _, _, facts = source.gather(
            connection, practice.location_id, record_id, 1, origin="https://dose.example"
        )
    origin, _, behind = facts["address"].partition("/#/")
    assert origin == "https://dose.example"
    _, known, _, version, link = behind.split("/")
    assert known == record_id
    return version, link


def test_the_paper_is_found_to_be_the_records(signed):
    practice, _, record_id = signed
    version, link = address_of(practice, record_id)
    front = practice.desk("front_desk")
    answer = front.ask("GET", f"/records/{record_id}/proof?version={version}&link={link}")
    assert answer["paper"] == {
        "version": 1,
        "newest": 1,
        "known": True,
        "fits": True,
        "position": answer["result"]["entries"][-1]["position"],
    }
    assert answer["result"]["holds"] and answer["result"]["key_given"]
    assert [one["kind"] for one in answer["result"]["papers"]] == ["pdf", "text"]
    # The proof that comes with it is the one that is checked anywhere.
    again = proof_check.check(proof_check.read_proof(json.dumps(answer["proof"])))
    assert again["holds"] and len(again["entries"]) == 5


def test_another_link_or_version_does_not_fit(signed):
    practice, _, record_id = signed
    front = practice.desk("front_desk")
    _, link = address_of(practice, record_id)
    for version, shown, known in ((1, "0" * 16, True), (2, link, False)):
        answer = front.ask("GET", f"/records/{record_id}/proof?version={version}&link={shown}")
        assert (answer["paper"]["known"], answer["paper"]["fits"]) == (known, False)
    assert front.ask("GET", f"/records/{record_id}/proof")["paper"] is None


@pytest.mark.parametrize("query", ["version=0", "version=x", "link=xyz", "link=00", "more=1"])
def test_what_is_no_paper_is_refused_at_its_field(signed, query):
    practice, _, record_id = signed
    with pytest.raises(Refused) as refused:
        practice.desk("front_desk").ask("GET", f"/records/{record_id}/proof?{query}")
    assert refused.value.facts["status"] == 422


def test_whoever_reads_no_records_gets_none(signed):
    practice, _, record_id = signed
    with pytest.raises(Refused) as refused:
        practice.desk("administrator").ask("GET", f"/records/{record_id}/proof")
    assert refused.value.facts["status"] == 403
    with pytest.raises(Refused) as refused:
        practice.desk("front_desk").ask("GET", "/records/nothing/proof")
    assert refused.value.facts["status"] == 404


def test_a_changed_log_is_told_with_its_position(signed):
    practice, _, record_id = signed
    front = practice.desk("front_desk")
    position = front.ask("GET", f"/records/{record_id}/proof")["result"]["entries"][1]["position"]
    with practice.house.engine.begin() as connection:
        connection.exec_driver_sql("DROP TRIGGER event_no_update")
        connection.exec_driver_sql(
            "UPDATE event SET header = replace(header, 'applied', 'applieD') WHERE position = ?",
            (position,),
        )
    result = front.ask("GET", f"/records/{record_id}/proof")["result"]
    assert (result["holds"], result["position"]) == (False, position)
    assert result["reason"] == "header_hash"

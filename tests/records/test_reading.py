"""Reading records and their papers: who is named, what is written down, what is refused."""

import pytest

from api.errors import Conflict, NotFound
from api.records import service
from api.storage import access, documents, renderings
from tests.records.projected import LOCATION, WHO, search


def test_reading_names_people_and_is_written_down(log):
    log.enter_all("open", "pass4")
    documents.put(log.connection, LOCATION, "tablet", "A", {"label": "Chair one"}, position=0)
    found = service.detail(log.connection, **WHO, record_id="rec", now=log.now, may_see_moves=True)
    assert found["tablets"] == {"A": "Chair one"}
    assert found["people"] == {
        "dent": {
            "display_name": "Dr. Test",
            "initials": "DT",
            "roles": ["clinician"],
            "credential": None,
        }
    }
    listed = search(log, q=" frenectomy ")
    assert [one["record_id"] for one in listed["records"]] == ["rec"]
    told = [
        (row["action"], row["actor_id"], row["subject_id"])
        for row in access.entries(log.connection, LOCATION)
    ]
    assert told == [("list", "front", None), ("read", "front", "rec")]


def test_a_foreign_record_and_an_absent_one_answer_alike(log):
    log.enter_all("open")
    for location, record in (("elsewhere", "rec"), (LOCATION, "absent")):
        with pytest.raises(NotFound) as refused:
            service.detail(
                log.connection,
                location_id=location,
                actor_id="x",
                record_id=record,
                now=log.now,
                may_see_moves=True,
            )
        assert refused.value.code == "record_unknown"


def test_papers(log):
    log.enter_all("open", "pass4", "end")
    wanted = {**WHO, "record_id": "rec", "kind": "pdf", "now": log.now}

    def code():
        with pytest.raises(Conflict) as refused:
            service.rendering(log.connection, **wanted)
        return refused.value.code

    assert code() == "not_signed"
    log.sign()
    assert code() == "not_rendered_yet"
    renderings.put(log.connection, LOCATION, "rec", 1, "pdf", b"paper", made_at=log.now)
    assert service.rendering(log.connection, **wanted)["content"] == b"paper"
    log.enter_all("addendum")
    assert code() == "not_rendered_yet"

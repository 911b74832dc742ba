"""A list's document: its versions, its drafts, and who has read which version."""

from collections.abc import Mapping

import pytest

from api.safety import project
from api.storage import documents

ITEMS = [{"item_id": "patient", "text": "Patient by two identifiers"}]


class Log:
    """Hands entries to the projector, with documents kept in memory."""

    def __init__(self, monkeypatch):
        self.kept: dict[tuple, dict] = {}
        self.position = 0
        monkeypatch.setattr(documents, "get", lambda _, *key: self.kept.get(key))
        monkeypatch.setattr(documents, "put", self._put)

    def _put(self, _connection, location_id, kind, doc_id, body, *, position):
        self.kept[location_id, kind, doc_id] = body

    def enter(
        self,
        type: str,
        payload: Mapping,
        *,
        by="officer",
        verdict="applied",
        base=None,
        corrects=None,
    ):
        self.position += 1
        event_id = f"e{self.position}"
        body = {
            "event_id": event_id,
            "type": type,
            "entity_id": "l1",
            "actor_id": by,
            "base_version": base,
            "corrects": corrects,
            "occurred_at": f"2026-11-25T10:0{self.position}:00.000+01:00",
        }
        project.project(
            None,
            {
                "position": self.position,
                "location_id": "loc",
                "verdict": verdict,
                "body": body,
                "payload": payload,
            },
        )
        return event_id

    @property
    def document(self) -> dict:
        return self.kept["loc", "list", "l1"]


@pytest.fixture
def log(monkeypatch):
    return Log(monkeypatch)


def published(version: int, **more) -> dict:
    return {"kind": "time_out", "version": version, "title": "Time-out", "items": ITEMS, **more}


def test_every_version_is_kept_and_the_last_one_stands_in_front(log):
    log.enter("list.published", published(1))
    log.enter("list.published", published(2, effective_from="2026-12-01"), base=1)
    found = log.document
    assert (found["version"], found["effective_from"]) == (2, "2026-12-01")
    assert [(one["version"], one.get("effective_from")) for one in found["versions"]] == [
        (1, None),
        (2, "2026-12-01"),
    ]
    assert found["versions"][0]["published_by"] == "officer"
    assert found["versions"][0]["published_at"] == "2026-11-25T10:01:00.000+01:00"


def test_a_draft_waits_until_a_version_comes_of_it_or_it_is_set_aside(log):
    log.enter("list.published", published(1))
    log.enter("list.published", published(2, title="One"), base=1)
    other = log.enter("list.published", published(2, title="Two"), base=1, verdict="conflict")
    third = log.enter("list.published", published(2, title="Three"), base=1, verdict="conflict")
    assert [(one["title"], one["base_version"]) for one in log.document["drafts"]] == [
        ("Two", 1),
        ("Three", 1),
    ]
    assert len(log.document["versions"]) == 2
    log.enter("list.published", published(3, title="Both", from_draft=other), base=2)
    assert [one["event_id"] for one in log.document["drafts"]] == [third]
    assert log.document["title"] == "Both"
    log.enter("list.set_aside", {"reason": "already in version 3"}, corrects=third)
    assert log.document["drafts"] == []
    assert [(one["title"], one["set_aside"]["reason"]) for one in log.document["set_aside"]] == [
        ("Three", "already in version 3")
    ]
    log.enter("list.set_aside", {"reason": "again"}, corrects=third)
    assert len(log.document["set_aside"]) == 1


def test_who_has_read_which_version(log):
    log.enter("list.published", published(1, needs_acknowledgement=True))
    log.enter("list.acknowledged", {"version": 1}, by="assi")
    log.enter("list.acknowledged", {"version": 1}, by="assi")
    log.enter("list.acknowledged", {"version": 1}, by="dent")
    log.enter("list.published", published(2), base=1)
    log.enter("list.acknowledged", {"version": 2}, by="assi")
    said = [(one["person_id"], one["version"]) for one in log.document["acknowledged_by"]]
    # Saying it twice is saying it once, at the first time.
    assert said == [("assi", 1), ("dent", 1), ("assi", 2)]
    assert log.document["acknowledged_by"][0]["at"] == "2026-11-25T10:02:00.000+01:00"


def test_an_acknowledgement_ahead_of_its_list_is_kept(log):
    log.enter("list.acknowledged", {"version": 1}, by="assi")
    assert log.document["status"] == "draft"
    log.enter("list.published", published(1))
    assert log.document["status"] == "current"
    assert [one["person_id"] for one in log.document["acknowledged_by"]] == ["assi"]


def test_a_document_of_before_versions_were_kept(log):
    log.kept["loc", "list", "l1"] = {**published(1), "list_id": "l1", "drafts": [], "event_id": "x"}
    log.enter("list.published", published(2, effective_from="2027-01-01"), base=1)
    assert [one["version"] for one in log.document["versions"]] == [1, 2]

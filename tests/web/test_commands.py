"""Commands of a desk: done once, and nothing at all is written of what is refused."""

import hashlib
from dataclasses import replace

import pytest
from sqlalchemy import select

from api.app import create_app
from api.demo.tablet_client import Refused
from api.settings import API_PREFIX
from api.storage import tables
from api.storage.engine import EVERYWHERE, open_engine, read
from tests.web.practice import ORIGIN, PASSWORD

pytestmark = pytest.mark.both_databases(long=True)

KIND = {"text": "Frenectomy", "code": None}


def _post(desk, key, payload=None, entity_id="kind-1", **more):
    return desk.ask(
        "POST",
        "/commands/procedure_kind.listed",
        {"entity_id": entity_id, "payload": payload or KIND, **more},
        **({} if key is None else {"Idempotency-Key": key}),
    )


def _everything(settings) -> list[str]:
    """Return every row of the database but of the access log, which notes attempts too."""
    engine = open_engine(settings.database_url, reach=EVERYWHERE)
    with read(engine) as connection:
        found = [
            f"{each.name} {row}"
            for each in tables.metadata.sorted_tables
            if each is not tables.access_log
            for row in connection.execute(select(each).order_by(*each.primary_key.columns))
        ]
    engine.dispose()
    return found


def test_the_same_key_does_it_once(practice):
    desk = practice.desk("clinician")
    first = _post(desk, "key-00000001")
    assert _post(desk, "key-00000001") == first
    assert _post(desk, "key-00000002")["position"] == first["position"] + 1
    [kind] = desk.ask("GET", "/house?kind=procedure_kind")["documents"]
    assert kind["text"] == "Frenectomy"


def test_the_same_key_for_something_else_is_refused(practice):
    desk = practice.desk("clinician")
    _post(desk, "key-00000001")
    with pytest.raises(Refused) as refused:
        _post(desk, "key-00000001", {"text": "Gingivectomy", "code": None})
    assert (refused.value.code, refused.value.facts["status"]) == ("idempotency_key_reused", 409)


@pytest.mark.parametrize(
    ("path", "body", "headers", "status", "code"),
    [
        ("procedure_kind.listed", {"entity_id": "k", "payload": {}}, {}, 422, "event_schema"),
        ("procedure_kind.listed", {"entity_id": "k"}, {}, 422, "invalid"),
        ("procedure_kind.listed", {"entity_id": "", "payload": KIND}, {}, 422, "invalid"),
        ("procedure_kind.listed", {"entity_id": "a b", "payload": KIND}, {}, 422, "event_schema"),
        ("procedure_kind.listed", {"entity_id": 7, "payload": KIND}, {}, 422, "invalid"),
        ("procedure_kind.listed", {"entity_id": "k", "payload": [1]}, {}, 422, "invalid"),
        (
            "procedure_kind.listed",
            {"entity_id": "k", "payload": KIND, "location_id": "other"},
            {},
            422,
            "invalid",
        ),
        (
            "procedure_kind.listed",
            {"entity_id": "k", "payload": {"text": "x" * 70_000, "code": None}},
            {},
            422,
            "event_too_large",
        ),
        (
            "procedure_kind.listed",
            {"entity_id": "k", "payload": KIND},
            {"Idempotency-Key": ""},
            422,
            "idempotency_key_needed",
        ),
        (
            "procedure_kind.listed",
            {"entity_id": "k", "payload": KIND},
            {"Idempotency-Key": "with blank"},
            422,
            "idempotency_key_needed",
        ),
        ("record.erased", {"entity_id": "k", "payload": {}}, {}, 404, "command_unknown"),
        (
            "record.placed_in_chart",
            {"entity_id": "none", "payload": {"how": "pdf", "note": None}},
            {},
            404,
            "record_unknown",
        ),
        (
            "preset.withdrawn",
            {"entity_id": "none", "payload": {"reason": "old"}},
            {},
            404,
            "preset_unknown",
        ),
    ],
)
def test_what_is_refused_leaves_nothing_behind(
    practice, settings, path, body, headers, status, code
):
    practice.give_secrets("clinician")
    client = practice.app.test_client()
    client.post(
        f"{API_PREFIX}/session/password",
        json={"sign_in": practice.sign_in_name("clinician"), "password": PASSWORD},
        headers={"Origin": ORIGIN},
    )
    before = _everything(settings)
    answer = client.post(
        f"{API_PREFIX}/commands/{path}",
        json=body,
        headers={"Origin": ORIGIN, "Idempotency-Key": "key-00000001", **headers},
    )
    assert (answer.status_code, answer.json["code"]) == (status, code), answer.text
    assert _everything(settings) == before


def _sign(desk, record_id, key="key-00000001", **changes):
    history = desk.ask("GET", f"/records/{record_id}")["history"]
    # SHA-256 of the label and every body's hash, in order: by hand, not by the program's function.
    covered = b"".join(bytes.fromhex(line["body_hash"]) for line in history)
    payload = {
        "signer_id": desk.ask("GET", "/session")["person"]["person_id"],
        "role": "clinician",
        "content_hash": hashlib.sha256(b"dosebook-record-1" + covered).hexdigest(),
        "statement": "I have read it.",
    }
    return desk.ask(
        "POST",
        "/commands/record.signed",
        {"entity_id": record_id, "payload": {**payload, **changes}},
        **{"Idempotency-Key": key},
    )


def _ended_record(practice):
    """Return a record that is ended and on the server, but not signed."""
    tablet = practice.tablet("clinician")
    record_id = practice.signed_record(tablet)
    tablet.outbox.pop()
    tablet.push()
    return record_id


@pytest.mark.parametrize(
    ("changes", "code"),
    [({"content_hash": "0" * 64}, "content_differs"), ({"signer_id": "x"}, "signer_not_author")],
)
def test_a_desk_signs_only_what_stands_there(practice, settings, changes, code):
    record_id = _ended_record(practice)
    desk = practice.desk("clinician")
    with pytest.raises(Refused) as refused:
        _sign(desk, record_id, **changes)
    assert (refused.value.code, refused.value.facts["status"]) == (code, 409)
    record = desk.ask("GET", f"/records/{record_id}")
    assert (record["status"], record["flags"]) == ("ended", [])


def test_a_desk_signs_once_and_the_same_key_again_is_answered(practice):
    record_id = _ended_record(practice)
    desk = practice.desk("clinician")
    hashes = [line["body_hash"] for line in desk.ask("GET", f"/records/{record_id}")["history"]]
    covered = b"dosebook-record-1" + b"".join(map(bytes.fromhex, hashes))
    same = {"content_hash": hashlib.sha256(covered).hexdigest()}
    first = _sign(desk, record_id, **same)
    assert _sign(desk, record_id, **same) == first
    record = desk.ask("GET", f"/records/{record_id}")
    assert (record["status"], record["flags"]) == ("signed", [])
    with pytest.raises(Refused) as refused:
        _sign(desk, record_id, "key-00000002")
    assert refused.value.code == "not_ended"


def test_an_unsigned_record_cannot_be_placed(practice, settings):
    tablet = practice.tablet("clinician")
    record_id = practice.signed_record(tablet)
    tablet.outbox.pop()
    tablet.push()
    front = practice.desk("front_desk")
    assert front.ask("GET", "/chart-queue")["records"] == []
    with pytest.raises(Refused) as refused:
        front.command("record.placed_in_chart", record_id, {"how": "pdf", "note": None})
    assert (refused.value.code, refused.value.facts["status"]) == ("not_signed", 409)


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"protocol": 1, "epoch": "EPOCH"},
        {"protocol": 1, "epoch": "EPOCH", "items": {}},
        {"protocol": 1, "epoch": "EPOCH", "items": [1]},
        {"protocol": 1, "epoch": "EPOCH", "items": [{"event_id": "x"}]},
        {"protocol": 1, "epoch": "another", "items": []},
        {"protocol": "1", "epoch": "EPOCH", "items": []},
    ],
)
def test_a_push_that_cannot_be_read_leaves_nothing_behind(practice, settings, body):
    tablet = practice.tablet("clinician")
    epoch = tablet.identity["epoch"]
    before = _everything(settings)
    sent = {key: epoch if value == "EPOCH" else value for key, value in body.items()}
    with pytest.raises(Refused) as refused:
        tablet.ask("POST", "/sync/push", sent)
    assert refused.value.facts["status"] in (409, 422, 426)
    assert _everything(settings) == before


@pytest.mark.parametrize(
    "query",
    ["feed=all", "limit=0", "limit=x", "cursor=x", "cursor=", "unknown=1", "limit=999999999999"],
)
def test_a_pull_s_question_is_checked(practice, query):
    tablet = practice.tablet()
    if query == "cursor=":
        assert tablet.ask("GET", f"/sync/pull?{query}")["documents"]
        return
    with pytest.raises(Refused, match="422"):
        tablet.ask("GET", f"/sync/pull?{query}")


@pytest.mark.parametrize("query", ["status=none", "from=yesterday", "q=C-1001", "from=2026-02-30"])
def test_a_search_is_checked(practice, query):
    with pytest.raises(Refused, match="422"):
        practice.desk("front_desk").ask("GET", f"/records?{query}")


def test_words_to_look_for_are_checked(practice):
    with pytest.raises(Refused, match="422"):
        practice.desk("front_desk").ask("POST", "/records/search", {"q": "x" * 101})


def test_a_search_by_day_and_status(practice, clock):
    tablet = practice.tablet("clinician")
    record_id = practice.signed_record(tablet)
    tablet.push()
    front = practice.desk("front_desk")

    def found(query: str) -> list[str]:
        return [each["record_id"] for each in front.ask("GET", f"/records?{query}")["records"]]

    assert found("status=signed&from=2026-03-02&to=2026-03-02") == [record_id]
    assert found("status=draft") == []
    assert found("from=2026-03-03") == []

    def with_words(q: str) -> list[str]:
        answer = front.ask("POST", "/records/search", {"q": q})
        return [each["record_id"] for each in answer["records"]]

    assert with_words("frenec") == [record_id]
    # What stands for anything in SQL stands for itself here.
    assert with_words("%") == []


def test_a_database_that_is_not_there_is_told_without_words_of_the_driver(settings, tmp_path):
    empty = replace(settings, database_url=f"sqlite:///{tmp_path}/empty.sqlite3")
    client = create_app(empty).test_client()
    health = client.get(f"{API_PREFIX}/health")
    assert (health.status_code, health.json["code"]) == (503, "not_ready")
    other = client.post(f"{API_PREFIX}/tablet/challenge", json={"tablet_id": "x"})
    assert (other.status_code, other.json["code"]) == (503, "database_busy")
    for answer in (health, other):
        assert "Retry-After" in answer.headers
        for word in ("sqlite", "table", "SELECT", "Traceback", str(tmp_path)):
            assert word not in answer.text

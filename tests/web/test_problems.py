"""Every kind of refusal leaves as one problem document, without anybody else's words in it."""

import json

import pytest
from flask import Flask

from api.errors import (
    BadInput,
    Conflict,
    DomainError,
    NotAllowed,
    NotFound,
    NotSignedIn,
    TooMany,
)
from api.web import problems

CANARY = "Canary-" + str(4711)
MEMBERS = {"type", "title", "status", "detail", "code"}


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (BadInput("some_code", "No."), 422),
        (NotFound("some_code", "No."), 404),
        (NotSignedIn("some_code", "No."), 401),
        (NotAllowed("some_code", "No."), 403),
        (Conflict("some_code", "No."), 409),
        (TooMany("some_code", "No."), 429),
        (DomainError("some_code", "No."), 400),
        (BadInput("unreadable_json", "No."), 400),
        (BadInput("not_json", "No."), 415),
        (BadInput("too_large", "No."), 413),
        (BadInput("batch_too_large", "No."), 413),
        (BadInput("protocol_too_old", "No."), 426),
        (DomainError("not_ready", "No."), 503),
    ],
)
def test_status_follows_code_then_kind(error, status):
    body = problems.document(error)
    assert body["status"] == status
    assert body["code"] == error.code
    assert set(body) >= MEMBERS


def test_facts_stand_beside_but_never_replace_a_standard_member():
    body = problems.document(NotSignedIn("pin_wrong", "Wrong.", attempts_left=3, status="x"))
    assert (body["attempts_left"], body["status"]) == (3, 401)


def test_nested_messages_become_field_paths():
    messages = {"a": {"b": ["one"], 0: {"_schema": ["two", "three"]}}, "c": "four"}
    assert dict(problems.flatten(messages)) == {
        "a.b": ["one"],
        "a.0": ["two", "three"],
        "c": ["four"],
    }


@pytest.fixture
def failing() -> Flask:
    app = Flask(__name__)
    problems.install(app)

    @app.get("/fails")
    def fails():
        raise RuntimeError(f"UNIQUE constraint failed: patient {CANARY!r}")

    return app


def test_an_unforeseen_failure_tells_nothing(failing, caplog):
    answer = failing.test_client().get("/fails")
    assert answer.status_code == 500
    assert answer.content_type == problems.MEDIA_TYPE
    assert json.loads(answer.data)["code"] == "internal"
    # Neither the caller nor the log may see what the driver quoted.
    assert CANARY not in answer.text
    assert CANARY not in caplog.text
    assert "RuntimeError" in caplog.text

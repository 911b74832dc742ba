"""Every refusal as one problem document (RFC 9457); the only place that knows HTTP statuses."""

import json
import logging
import traceback
from collections.abc import Iterator, Mapping
from http import HTTPStatus
from math import ceil

import marshmallow as ma
from flask import Flask, Response, request
from werkzeug.exceptions import HTTPException

from api.clock import parse_rfc3339
from api.errors import (
    BadInput,
    Conflict,
    DomainError,
    NotAllowed,
    NotFound,
    NotSignedIn,
    TooMany,
)
from api.storage.engine import DBAPIError
from api.web.context import context

LOG = logging.getLogger("dosebook.web")
MEDIA_TYPE = "application/problem+json"

_STATUS_OF_KIND: tuple[tuple[type[DomainError], int], ...] = (
    (BadInput, 422),
    (NotFound, 404),
    (NotSignedIn, 401),
    (NotAllowed, 403),
    (Conflict, 409),
    (TooMany, 429),
)
# Codes whose status says more than their kind does.
_STATUS_OF_CODE: dict[str, int] = {
    "not_json": 415,
    "wrong_media_type": 415,
    "attachment_too_large": 413,
    "attachment_broken_off": 400,
    "certificate_too_large": 413,
    "certificate_broken_off": 400,
    "unreadable_json": 400,
    "too_large": 413,
    "batch_too_large": 413,
    "protocol_too_old": 426,
    "protocol_unsupported": 426,
    "not_ready": 503,
    "database_busy": 503,
}
# What a bare HTTP refusal is called, where no domain code fits.
_CODE_OF_STATUS: dict[int, str] = {
    400: "bad_request",
    404: "not_found",
    405: "method_not_allowed",
    411: "length_required",
    413: "too_large",
    415: "not_json",
    422: "invalid",
    500: "internal",
}
_WORDS_OF_STATUS: dict[int, str] = {
    400: "The request could not be read.",
    404: "There is nothing here.",
    405: "This cannot be done to that address.",
    411: "The request must state the length of its body.",
    413: "The request is larger than the server takes.",
    415: "The body must be JSON, sent as application/json.",
    422: "Some of what was sent cannot be used; see errors.",
    500: "Something went wrong on the server. What was asked may be tried again.",
    503: "The server cannot answer just now. Nothing was changed; try again.",
}


class ProblemSchema(ma.Schema):
    """How a refusal looks, for the API description."""

    type = ma.fields.String(required=True)
    title = ma.fields.String(required=True)
    status = ma.fields.Integer(required=True)
    detail = ma.fields.String(required=True)
    code = ma.fields.String(
        required=True, metadata={"description": "Stable; programs may rely on it."}
    )
    errors = ma.fields.Dict(
        keys=ma.fields.String(),
        values=ma.fields.List(ma.fields.String()),
        metadata={"description": "By field path, what is wrong with it."},
    )


def status_of(error: DomainError) -> int:
    """Return the HTTP status of a domain error: by its code, else by its kind."""
    if error.code in _STATUS_OF_CODE:
        return _STATUS_OF_CODE[error.code]
    return next((status for kind, status in _STATUS_OF_KIND if isinstance(error, kind)), 400)


def document(error: DomainError) -> dict[str, object]:
    """Return the problem document of a domain error, as the command line prints it too."""
    return _document(status_of(error), error.code, error.message, error.errors, error.facts)


def _document(
    status: int,
    code: str,
    detail: str,
    errors: Mapping[str, list[str]] | None = None,
    facts: Mapping[str, object] | None = None,
) -> dict[str, object]:
    body: dict[str, object] = dict(facts or {})
    # The standard members come last: a fact of the same name must not replace one.
    body |= {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
        "code": code,
    }
    if errors:
        body["errors"] = dict(errors)
    return body


def flatten(messages: object, path: str = "") -> Iterator[tuple[str, list[str]]]:
    """Turn nested schema messages into (field path, texts) pairs."""
    if isinstance(messages, Mapping):
        for key, value in messages.items():
            step = "" if key == "_schema" else str(key)
            yield from flatten(value, ".".join(part for part in (path, step) if part))
    elif isinstance(messages, list):
        yield path, [str(text) for text in messages]
    else:
        yield path, [str(messages)]


def _respond(body: dict[str, object]) -> Response:
    status = body["status"]
    response = Response(
        json.dumps(body, ensure_ascii=False, default=str),
        status=status,
        content_type=MEDIA_TYPE,
    )
    until = body.get("until")
    if status == 429 and isinstance(until, str):
        wait_s = (parse_rfc3339(until) - context().clock.now()).total_seconds()
        response.headers["Retry-After"] = str(max(1, ceil(wait_s)))
    elif status == 503:
        response.headers["Retry-After"] = "1"
    elif status == 401:
        response.headers["WWW-Authenticate"] = "Bearer"
    elif status == 426:
        response.headers["Upgrade"] = "dosebook-sync/1"
    return response


def handle_domain(error: DomainError) -> Response:
    """Answer a domain error."""
    return _respond(document(error))


def handle_http(error: HTTPException) -> Response:
    """Answer what Flask, Werkzeug or the argument parser refuse, in our own words only."""
    status = error.code or 500
    if status < 400:
        # A redirect is raised like a refusal, and is none.
        return error.get_response()
    data = getattr(error, "data", None) or {}
    # The parser files its messages under the place they came from, which is not part of a path.
    errors: dict[str, list[str]] = {}
    for place_messages in (data.get("messages") or {}).values():
        for path, texts in flatten(place_messages):
            errors.setdefault(path or "body", []).extend(texts)
    response = _respond(
        _document(
            status,
            _CODE_OF_STATUS.get(status, "refused"),
            _WORDS_OF_STATUS.get(status, "The request was refused."),
            errors,
        )
    )
    allowed = getattr(error, "valid_methods", None)
    if allowed:
        response.headers["Allow"] = ", ".join(sorted(allowed))
    return response


def handle_unexpected(error: Exception) -> Response:
    """Answer a failure nobody foresaw; its text stays out of the answer and out of the log.

    A driver's message can quote the values of the statement, and with them a patient: only the
    kind of failure and the places in the code are logged.
    """
    # What the database cannot do just now (locked, disk full) may work in a moment; a statement
    # that it refuses is our mistake and will not.
    passing = isinstance(error, DBAPIError) and type(error).__name__ == "OperationalError"
    places = "".join(traceback.format_tb(error.__traceback__))
    LOG.error("%s %s: %s\n%s", request.method, request.url_rule, type(error).__name__, places)
    if passing:
        return _respond(_document(503, "database_busy", _WORDS_OF_STATUS[503]))
    return _respond(_document(500, "internal", _WORDS_OF_STATUS[500]))


def install(app: Flask) -> None:
    """Let every refusal of ``app`` leave as a problem document."""
    app.register_error_handler(DomainError, handle_domain)
    app.register_error_handler(HTTPException, handle_http)
    app.register_error_handler(Exception, handle_unexpected)

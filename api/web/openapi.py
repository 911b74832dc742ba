"""The description of the interface, with what the routes' rules say added to it."""

import re
from collections.abc import Callable
from threading import Lock

from flask import Flask
from flask_smorest import Api

from api.web import auth, problems

_SCHEMES = {
    "tablet": {"type": "http", "scheme": "bearer", "description": "The token of a tablet."},
    "person": {
        "type": "apiKey",
        "in": "header",
        "name": auth.PERSON_HEADER,
        "description": "The token of a person signed in on the tablet.",
    },
    "desk": {
        "type": "apiKey",
        "in": "cookie",
        "name": "dosebook_desk",
        "description": "The session of a desk; `__Host-dosebook` where the server has TLS.",
    },
}

_PROBLEM = {"$ref": "#/components/responses/DEFAULT_ERROR"}


class Interface(Api):
    """flask-smorest with problem documents in place of its own answers.

    Describing the routes takes several times as long as all else at a start, and few servers are
    ever asked for it: it is put off until then.
    """

    # Made once: the description names it for each of sixty statuses.
    ERROR_SCHEMA = problems.ProblemSchema()

    def __init__(self, app: Flask) -> None:
        self._put_off: list[Callable[[], None]] = []
        self._described: dict | None = None
        self._one_at_a_time = Lock()
        super().__init__(app)

    def _register_error_handlers(self) -> None:
        problems.install(self._app)

    def describe_later(self, describe: Callable[[], None]) -> None:
        """Keep ``describe``, which adds some routes to the description, until it is asked for."""
        self._put_off.append(describe)

    def described(self) -> dict:
        """Return the whole description (OpenAPI 3)."""
        with self._one_at_a_time:
            if self._described is None:
                for describe in self._put_off:
                    describe()
                self._described = _completed(self._app, self.spec.to_dict())
        return self._described


def _completed(app: Flask, spec: dict) -> dict:
    """Return ``spec`` with names and rules of every operation, and problem documents as such."""
    components = spec.setdefault("components", {})
    components["securitySchemes"] = _SCHEMES
    for response in components.get("responses", {}).values():
        content = response.get("content", {})
        if "application/json" in content:
            content[problems.MEDIA_TYPE] = content.pop("application/json")
    for route in app.url_map.iter_rules():
        path = re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", route.rule)
        for method in route.methods:
            operation = spec["paths"].get(path, {}).get(method.lower())
            if operation is None:
                continue
            rule = app.view_functions[route.endpoint].access_rule
            operation["operationId"] = route.endpoint.rsplit(".", 1)[-1]
            operation["security"] = _security(rule)
            answers = operation["responses"]
            answers.pop("default", None)
            for status in sorted(_refusals(rule, method, path, operation)):
                answers.setdefault(str(status), _PROBLEM)
    return spec


def _refusals(rule: auth.Rule, method: str, path: str, operation: dict) -> set[int]:
    """Return the statuses with which a route may refuse; each comes with a problem document."""
    found = {500, 503}
    reads = "requestBody" in operation
    if method != "GET":
        # Of another site's page, of a body that cannot be read, of one that nobody asked for.
        found |= {400, 403, 411, 413, 415}
    if reads or operation.get("parameters"):
        found.add(422)
    if rule.ways or rule.sets_cookie:
        found |= {401, 403}
    if rule.ways and ("{" in path or reads):
        # What is not there, or is somebody else's; what stands against what was asked.
        found |= {404, 409}
    if rule.limit is not None:
        found |= {401, 429}
    if path.endswith("/sync/push"):
        found.add(426)
    return found


def _security(rule: auth.Rule) -> list[dict[str, list[str]]]:
    ways: list[dict[str, list[str]]] = []
    if "tablet" in rule.ways:
        ways.append({"tablet": []})
    if "person" in rule.ways:
        ways.append({"tablet": [], "person": []})
    if "desk" in rule.ways:
        ways.append({"desk": []})
    return ways

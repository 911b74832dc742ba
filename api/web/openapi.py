"""The description of the interface, with what the routes' rules say added to it."""

import re

from flask import Flask

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


def describe(app: Flask, spec: dict) -> dict:
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

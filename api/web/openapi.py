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
            operation["operationId"] = route.endpoint.rsplit(".", 1)[-1]
            operation["security"] = _security(app.view_functions[route.endpoint].access_rule)
    return spec


def _security(rule: auth.Rule) -> list[dict[str, list[str]]]:
    ways: list[dict[str, list[str]]] = []
    if "tablet" in rule.ways:
        ways.append({"tablet": []})
    if "person" in rule.ways:
        ways.append({"tablet": [], "person": []})
    if "desk" in rule.ways:
        ways.append({"desk": []})
    return ways

"""Random requests to every route, by everybody: refused or answered, never a failure of ours."""

import random
import re

from api.settings import API_PREFIX
from tests.web.practice import ORIGIN, PASSWORD, SETTINGS

SEED = 20260302
REQUESTS_EACH = 12
METHODS_WITH_BODY = {"POST", "PUT", "PATCH"}
SAMPLES = (
    None,
    True,
    0,
    -1,
    2**63,
    10**400,
    1e308,
    "",
    " ",
    "x" * 300,
    "\u0000",
    "\u202e<script>alert(1)</script>",
    "' OR 1=1 --",
    "../../etc",
    "2026-13-45T99:99:99Z",
    [],
    [[[]]],
    {},
    {"value": "4.5", "unit": "W"},
    "4.5 W",
    "01a13a56-59a0-7f0a-a9df-058e3e00028f",
)


def _value(spec, schema, dice, depth=0):
    """Return a value that may or may not fit ``schema``: each level is broken one time in five."""
    if "$ref" in schema:
        schema = spec["components"]["schemas"][schema["$ref"].rsplit("/", 1)[-1]]
    if depth > 4 or dice.random() < 0.2:
        return dice.choice(SAMPLES)
    if schema.get("type") == "object" and "properties" in schema:
        value = {
            name: _value(spec, inner, dice, depth + 1)
            for name, inner in schema["properties"].items()
            if name in schema.get("required", ()) or dice.random() < 0.6
        }
        if dice.random() < 0.1:
            value["__proto__"] = dice.choice(SAMPLES)
        return value
    if schema.get("type") == "array":
        inner = schema.get("items", {})
        return [_value(spec, inner, dice, depth + 1) for _ in range(dice.randrange(4))]
    if "enum" in schema:
        return dice.choice(schema["enum"])
    if schema.get("type") == "integer":
        return dice.choice((0, 1, 2, 50))
    return dice.choice(SAMPLES)


def _body(spec, operation, dice):
    content = operation.get("requestBody", {}).get("content", {})
    schema = content.get("application/json", {}).get("schema", {})
    if schema and dice.random() < 0.1:
        return dict(SETTINGS)
    return _value(spec, schema, dice)


def test_no_request_makes_the_server_fail(practice, client):
    practice.give_secrets("clinician")
    print(f"seed {SEED}")
    dice = random.Random(SEED)
    spec = client.get(f"{API_PREFIX}/openapi.json").json
    tablet = practice.tablet("clinician")
    desk = practice.app.test_client()
    desk.post(
        f"{API_PREFIX}/session/password",
        json={"sign_in": practice.sign_in_name("clinician"), "password": PASSWORD},
        headers={"Origin": ORIGIN},
    )
    callers = ((client, {}), (client, tablet._headers()), (desk, {}))
    ids = ("anything", "%00", "x" * 200, "%E2%80%AE", "procedure_kind.listed", "record.signed")
    reached = set()
    for path, item in spec["paths"].items():
        for method, operation in item.items():
            # Signing out would leave the desk outside for the rest.
            if method not in ("get", "post") or path.endswith("/session/password"):
                continue
            for number in range(REQUESTS_EACH):
                browser, headers = callers[number % len(callers)]
                # Each caller first asks plainly, so that what is open to them is reached.
                plainly = number < len(callers)
                query = {
                    each["name"]: str(dice.choice(SAMPLES))[:300]
                    for each in operation.get("parameters", ())
                    if each["in"] == "query" and not plainly and dice.random() < 0.5
                }
                answer = browser.open(
                    re.sub(r"\{.+?\}", lambda _: dice.choice(ids), path),
                    method=method.upper(),
                    query_string=query,
                    headers={"Origin": ORIGIN, "Idempotency-Key": f"key-{number:08}", **headers},
                    **(
                        {"json": _body(spec, operation, dice)}
                        if method.upper() in METHODS_WITH_BODY
                        else {}
                    ),
                )
                where = f"{method} {path} {query}: {answer.status_code} {answer.text[:300]}"
                assert answer.status_code < 500, where
                if answer.status_code >= 400:
                    assert answer.content_type == "application/problem+json", where
                    for word in ("Traceback", "sqlite", "SELECT ", "/api/storage"):
                        assert word not in answer.text, where
                reached.add((path, answer.status_code // 100))
    # It has to get past the doors now and then, or it shows nothing.
    assert (f"{API_PREFIX}/dose", 2) in reached
    assert (f"{API_PREFIX}/records", 2) in reached

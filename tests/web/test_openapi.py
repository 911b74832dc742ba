"""The description is a sound OpenAPI document and names every route there is."""

import re

import pytest
from marshmallow import RAISE

from api.settings import API_PREFIX
from api.web.dose_answers import DoseAnswerSchema, HeatAnswerSchema, ProvenanceSchema

HEATED = {
    "wavelength": "10.6 um",
    "emission": {"mode": "pulsed", "pulse_energy": "10 mJ", "repetition_rate": "100 Hz",
                 "pulse_duration": "400 us"},
    "spot": {"diameter": "0.4 mm", "diameter_definition": "1/e2"},
    "motion": {"speed": "5 mm/s"},
    "tissue": {"kind": "oral mucosa"},
}  # fmt: skip
METHODS = {"get", "post", "put", "patch", "delete"}


@pytest.fixture
def spec(client):
    return client.get(f"{API_PREFIX}/openapi.json").json


def _operations(spec):
    for path, item in spec["paths"].items():
        for method, operation in item.items():
            if method in METHODS:
                yield path, method, item, operation


def _references(value):
    if isinstance(value, dict):
        if "$ref" in value:
            yield value["$ref"]
        for inner in value.values():
            yield from _references(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _references(inner)


def test_every_route_is_described_and_nothing_else(app, spec):
    routes = {
        (re.sub("<(.+?)>", r"{\1}", route.rule), method.lower())
        for route in app.url_map.iter_rules()
        if route.rule.startswith("/api/")
        for method in route.methods - {"HEAD"}
    }
    assert {(path, method) for path, method, _, _ in _operations(spec)} == routes


def test_every_reference_leads_somewhere(spec):
    for reference in _references(spec):
        found = spec
        assert reference.startswith("#/")
        for step in reference[2:].split("/"):
            found = found[step]


def test_operations_are_complete(spec):
    assert spec["openapi"].startswith("3.0.")
    assert spec["info"].keys() >= {"title", "version"}
    names = [operation["operationId"] for *_, operation in _operations(spec)]
    assert len(set(names)) == len(names)
    for path, method, item, operation in _operations(spec):
        where = f"{method} {path}"
        assert operation["summary"], where
        assert operation["responses"], where
        for response in operation["responses"].values():
            assert "$ref" in response or response["description"], where
        stated = {
            parameter["name"]
            for parameter in [*item.get("parameters", []), *operation.get("parameters", [])]
            if parameter["in"] == "path"
        }
        assert stated == set(re.findall("{(.+?)}", path)), where
        for way in operation["security"]:
            assert set(way) <= set(spec["components"]["securitySchemes"]), where


def test_refusals_are_described_as_problem_documents(spec):
    [media_type] = spec["components"]["responses"]["DEFAULT_ERROR"]["content"]
    assert media_type == "application/problem+json"


def test_the_dose_request_is_described_from_the_engine_s_own_schema(spec):
    body = spec["paths"][f"{API_PREFIX}/dose"]["post"]["requestBody"]
    reference = body["content"]["application/json"]["schema"]["$ref"]
    schema = spec["components"]["schemas"][reference.rsplit("/", 1)[-1]]
    assert set(schema["required"]) == {"wavelength", "emission"}
    assert schema["additionalProperties"] is False


@pytest.mark.parametrize(("path", "schema", "request_"), [
    ("dose", DoseAnswerSchema, HEATED),
    ("dose", DoseAnswerSchema, {**HEATED, "delivery": {"loss": "1 dB"},
                                "uncertainty": {"spot.diameter": 0.05}}),
    ("heat", HeatAnswerSchema, {**HEATED, "duration": "10 ms"}),
])  # fmt: skip
def test_the_answers_of_the_engine_are_described_as_they_are(client, spec, path, schema, request_):
    described = spec["paths"][f"{API_PREFIX}/{path}"]["post"]["responses"]["200"]
    reference = described["content"]["application/json"]["schema"]["$ref"]
    assert reference.endswith(f"/{schema.__name__.removesuffix('Schema')}")
    answer = client.post(f"{API_PREFIX}/{path}", json=request_).json
    # Unknown or missing fields at any depth fail here.
    assert schema(unknown=RAISE).validate(answer) == {}


def test_what_numbers_rest_on_is_described_as_it_is(client):
    answer = client.get(f"{API_PREFIX}/dose/provenance").json
    assert ProvenanceSchema(unknown=RAISE).validate(answer) == {}
    # Whoever has an answer of the engine finds in it each formula and each source by name.
    results = client.post(f"{API_PREFIX}/dose", json=HEATED).json["dose"]["set"].values()
    assert len(results) > 15
    for result in results:
        assert result["formula"] == "given" or result["formula"] in answer["formulas"]
        assert set(result["sources"]) <= answer["bibliography"].keys()
    used = {name for entry in answer["formulas"].values() for name in entry["constants"]}
    assert used <= answer["constants"].keys()

"""The dose over HTTP and on the command line: the same answer, the same refusals."""

import copy
import io
import json
import sys

import pytest

from api import cli
from api.settings import API_PREFIX
from tests.web.practice import IRRADIANCE_MEAN_W_CM2, SETTINGS


@pytest.fixture
def on_the_command_line(monkeypatch, capfd):
    """Return a function: bytes on standard input -> (exit code, standard output, error)."""

    def run(data: bytes, name: str = "dose") -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data)))
        code = cli.main([name, "-"])
        out, err = capfd.readouterr()
        return code, out, err

    return run


def _post(client, data: bytes, name: str = "dose"):
    return client.post(f"{API_PREFIX}/{name}", data=data, content_type="application/json")


def test_a_hazard_is_answered_alike_in_both_places(client, on_the_command_line):
    request = {"wavelength": "10.6 um", "exposure_time": "10 s", "emission": {"power": "10 W"}}
    data = json.dumps(request).encode()
    answer = _post(client, data, "hazard")
    assert answer.status_code == 200
    # 2.017 + log10(10): 10 W over 3.5 mm against 1000 W/m2.
    density = answer.json["results"]["optical_density"]["value"]
    assert density == pytest.approx(3.017, abs=5e-4)
    code, out, err = on_the_command_line(data, "hazard")
    assert (code, err) == (0, "")
    assert json.loads(out) == answer.json


def test_a_hazard_request_is_refused_alike_in_both_places(client, on_the_command_line):
    data = json.dumps({"wavelength": "10.6 um", "emission": {"power": "10 W"}}).encode()
    answer = _post(client, data, "hazard")
    assert answer.status_code == 422
    assert list(answer.json["errors"]) == ["exposure_time"]
    code, out, err = on_the_command_line(data, "hazard")
    assert (code, out) == (2, "")
    assert json.loads(err)["errors"] == answer.json["errors"]


def test_a_dose_is_answered_alike_in_both_places(client, on_the_command_line):
    data = json.dumps(SETTINGS).encode()
    answer = _post(client, data)
    assert answer.status_code == 200
    assert answer.content_type == "application/json"
    mean = answer.json["dose"]["set"]["irradiance_mean"]
    assert mean["value"] == pytest.approx(IRRADIANCE_MEAN_W_CM2, rel=1e-6)
    assert mean["unit"] == "W/cm2"
    code, out, err = on_the_command_line(data)
    assert (code, err) == (0, "")
    assert json.loads(out) == answer.json


def _changed(path: str, value: object) -> bytes:
    request = copy.deepcopy(SETTINGS)
    *parents, last = path.split(".")
    part = request
    for name in parents:
        part = part[name]
    part[last] = value
    return json.dumps(request).encode()


@pytest.mark.parametrize(
    ("data", "status", "field"),
    [
        (_changed("emission.power", "4 mm"), 422, "emission.power"),
        (_changed("emission.power", "1,5 W"), 422, "emission.power"),
        (_changed("emission.power", "2*3 W"), 422, "emission.power"),
        (_changed("emission.power", "-4 W"), 422, "emission.power"),
        (_changed("emission.power", "nan W"), 422, "emission.power"),
        (_changed("emission.power", 10**400), 422, "emission.power"),
        (_changed("emission.power", {"value": [], "unit": "W"}), 422, "emission.power"),
        (_changed("emission.power", None), 422, "emission.power"),
        (_changed("emission.mode", "sideways"), 422, "emission.mode"),
        (_changed("emission.colour", "red"), 422, "emission.colour"),
        (_changed("colour", "red"), 422, "colour"),
        (_changed("emission", []), 422, "emission"),
        (_changed("emission_time", float("nan")), 422, "body"),
        (_changed("emission_time", float("inf")), 422, "body"),
        (b'{"wavelength": "10.6 um"}', 422, "emission"),
        (b'{"wavelength": "10.6 um", "wavelength": "9.3 um"}', 422, "body"),
        (b"[]", 422, "body"),
        (b"null", 422, "body"),
        (b"[" * 100_000, 422, "body"),
        (b"", 400, None),
        (b"{", 400, None),
        (b'{"wavelength": "\xff"}', 400, None),
    ],
)
def test_bad_requests_are_refused_alike_in_both_places(
    client, on_the_command_line, data, status, field
):
    answer = _post(client, data)
    assert answer.status_code == status
    assert answer.content_type == "application/problem+json"
    problem = json.loads(answer.data)
    assert problem["status"] == status
    assert {"type", "title", "detail", "code"} <= set(problem)
    if field is not None:
        assert field in problem["errors"]
    code, out, err = on_the_command_line(data)
    assert (code, out) == (2, "")
    assert json.loads(err) == problem


def test_a_body_that_is_not_json_by_name_is_refused(client):
    answer = client.post(f"{API_PREFIX}/dose", data=b"{}", content_type="text/plain")
    assert (answer.status_code, answer.json["code"]) == (415, "not_json")

"""The simulation over HTTP and on the command line: the same answer, the same refusals."""

import io
import json
import sys

import pytest

from api import cli
from api.settings import API_PREFIX

REQUEST = {
    "wavelength": "10.6 um",
    "emission": {"mode": "gated", "power": "4 W", "power_kind": "peak", "gate_on": "20 ms",
                 "gate_off": "30 ms"},
    "spot": {"diameter": "0.4 mm", "diameter_definition": "1/e2"},
    "tissue": {"kind": "oral mucosa"},
    "duration": "60 ms",
}  # fmt: skip


@pytest.fixture
def on_the_command_line(monkeypatch, capfd):
    """Return a function: bytes on standard input -> (exit code, standard output, error)."""

    def run(data: bytes) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data)))
        code = cli.main(["heat", "-"])
        out, err = capfd.readouterr()
        return code, out, err

    return run


def test_a_simulation_is_answered_alike_in_both_places(client, on_the_command_line):
    answer = client.post(f"{API_PREFIX}/heat", json=REQUEST)
    assert answer.status_code == 200
    results = answer.json["results"]
    assert results["removed_depth"]["value"] > 0
    assert results["surface_temperature"]["values"][0] == 37
    assert abs(results["energy_balance_error"]["value"]) < 1e-3
    code, out, err = on_the_command_line(json.dumps(REQUEST).encode())
    assert (code, err) == (0, "")
    assert json.loads(out) == answer.json


@pytest.mark.parametrize(("change", "field"), [
    ({"duration": "1 mm"}, "duration"),
    ({"duration": "2 min"}, "duration"),
    ({"wavelength": "1064 nm"}, "wavelength"),
    ({"tissue": {"kind": "enamel"}}, "tissue.kind"),
    ({"emission": {"mode": "pulsed", "average_power": "4 W"}}, "emission"),
])  # fmt: skip
def test_bad_requests_are_refused_alike_in_both_places(client, on_the_command_line, change, field):
    data = json.dumps({**REQUEST, **change}).encode()
    answer = client.post(f"{API_PREFIX}/heat", data=data, content_type="application/json")
    assert answer.status_code == 422
    problem = json.loads(answer.data)
    assert field in problem["errors"]
    code, out, err = on_the_command_line(data)
    assert (code, out) == (2, "")
    assert json.loads(err) == problem

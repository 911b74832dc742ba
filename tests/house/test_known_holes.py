"""Reports of known holes are read as they are meant; the looking up itself is a long check."""

import json

import pytest

from tests.house import holes

# The shapes of the two tools' own reports (from memory), with invented packages.
PYTHON = {
    "dependencies": [
        {"name": "sound", "version": "1.0", "vulns": []},
        {
            "name": "leaky",
            "version": "2.0",
            "vulns": [{"id": "PYSEC-0000-1", "fix_versions": ["2.1"], "aliases": []}],
        },
        {"name": "unlisted", "skip_reason": "not found"},
    ]
}
JAVASCRIPT = {
    "vulnerabilities": {
        "leaky": {"severity": "high", "via": [{"title": "Reads too far"}], "range": "<2.1"},
        "on-top": {"severity": "high", "via": ["leaky"], "range": "*"},
    }
}


def test_a_hole_is_named_with_what_mends_it():
    found = holes.in_python(json.dumps(PYTHON))
    assert found.holes == ["leaky 2.0: PYSEC-0000-1, mended in 2.1"]
    assert found.unknown == ["unlisted"]
    found = holes.in_javascript(json.dumps(JAVASCRIPT))
    assert found.holes == ["leaky (high): Reads too far"]


@pytest.mark.parametrize("answer", ["", "no JSON", '{"statusCode": 405}', "[]"])
def test_what_could_not_be_looked_up_is_not_called_sound(answer):
    for read in (holes.in_python, holes.in_javascript):
        found = read(answer)
        assert found.holes == []
        assert len(found.unknown) == 1


@pytest.mark.long
def test_no_hole_is_known(capsys):
    found = holes.look()
    print("not looked up:", ", ".join(sorted(set(found.unknown))) or "nothing")
    assert found.holes == []

"""What entries say of certificates: ten at most, and no name that could be another one."""

import copy

import pytest

from api.events import catalogue
from tests.events.test_catalogue import WHOLE

PAPER = {
    "sha256": "0" * 64,
    "file_name": "service.pdf",
    "media_type": "application/pdf",
    "size_bytes": 1,
}
TYPES = ("maintenance.recorded", "meter.registered", "meter.calibrated")


def taken(type: str, certificates: object) -> bool:
    said = {**copy.deepcopy(WHOLE[type]), "certificates": certificates}
    return not catalogue.payload_problems(type, said)


@pytest.mark.parametrize("type", TYPES)
def test_each_of_them_may_name_none_to_ten(type):
    before = copy.deepcopy(WHOLE[type])
    before.pop("certificates", None)
    assert not catalogue.payload_problems(type, before)
    assert taken(type, None)
    assert taken(type, [])
    assert taken(type, [PAPER] * 10)
    assert not taken(type, [PAPER] * 11)
    assert not taken(type, PAPER)


@pytest.mark.parametrize(
    "name", ["service.pdf", "Zertifikat Nr. 4 (2026).pdf", "校正.png", ".pdf", "a" * 120]
)
def test_what_files_are_called(name):
    assert taken(TYPES[0], [{**PAPER, "file_name": name}])


@pytest.mark.parametrize(
    "name",
    [
        "",
        " ",
        "..",
        "../../etc/passwd",
        "a/b.pdf",
        "a\\b.pdf",
        "a\u0000.pdf",
        "a\nb.pdf",
        # Reads as if it ended in "exe.pdf": the sign turns the direction of what follows.
        "a\u202efdp.exe",
        "a\u2028b.pdf",
        "a\ufeff.pdf",
        "\ud800.pdf",
        " a.pdf",
        "a" * 121,
        7,
        None,
    ],
)
def test_a_name_is_one_line_and_no_way_to_a_file(name):
    assert not taken(TYPES[0], [{**PAPER, "file_name": name}])


@pytest.mark.parametrize(
    "wrong",
    [
        {"sha256": "A" * 64},
        {"sha256": "x"},
        {"media_type": "text/html"},
        {"size_bytes": 0},
        {"size_bytes": "1"},
    ],
)
def test_the_rest_has_its_form(wrong):
    assert not taken(TYPES[0], [{**PAPER, **wrong}])

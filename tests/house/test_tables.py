"""The tables of risks and of what a security standard asks name tests that there are."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TABLES = ("tests/risks.md", "tests/asvs.md")
NAMED = re.compile(r"`((?:tests|pwa/tests)/[\w./-]+\.(?:py|ts))(?:::([^`]+))?`")


def missing(text: str) -> list[str]:
    """Return the tests that ``text`` names and that are not there."""
    lost = []
    for path, name in NAMED.findall(text):
        file = ROOT / path
        there = file.is_file() and (
            not name or f"def {name}(" in (content := file.read_text()) or f'"{name}"' in content
        )
        if not there:
            lost.append(f"{path}::{name}" if name else path)
    return lost


@pytest.mark.parametrize("table", TABLES)
def test_every_test_that_is_named_is_there(table):
    text = (ROOT / table).read_text()
    assert len(NAMED.findall(text)) > 20
    assert missing(text) == []


@pytest.mark.parametrize("table", TABLES)
def test_every_row_names_a_test_or_says_why_there_is_none(table):
    rows = [
        line
        for line in (ROOT / table).read_text().splitlines()
        if re.match(r"\| (?:R|V)[\d.]+ ", line)
    ]
    assert len(rows) > 20
    for row in rows:
        assert NAMED.search(row) or "not shown:" in row, row


def test_a_test_that_is_gone_is_missed():
    assert missing("`tests/house/test_tables.py::test_of_nothing`") == [
        "tests/house/test_tables.py::test_of_nothing"
    ]
    assert missing("`tests/nowhere.py` `tests/house/test_tables.py`") == ["tests/nowhere.py"]

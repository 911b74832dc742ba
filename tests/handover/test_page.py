"""Lines and tables of the paper: where they break, and what comes again on each page."""

import io
from datetime import UTC, datetime

import pytest
from pypdf import PdfReader

from api.handover.page import RecordPage
from api.handover.pdf import render_pdf
from api.handover.wrapping import wrapped
from tests.handover.sample import FACTS, NAMES, sample


def by_letters(text: str, width: int) -> list[str]:
    """Break a text in which every character is one wide."""
    return wrapped(text, width, lambda _: 1.0)


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("", [""]),
        ("one two", ["one two"]),
        # Exactly as wide as the line; the space after it is dropped.
        ("one two three", ["one two", "three"]),
        ("one twos three", ["one", "twos", "three"]),
        # A word wider than a line goes on from where it stands.
        ("abcdefghij", ["abcdefg", "hij"]),
        ("a bcdefghijk", ["a", "bcdefgh", "ijk"]),
        ("one\ntwo\n\nthree", ["one", "two", "", "three"]),
        # Of several spaces one is the break.
        ("one two  three", ["one two", " three"]),
    ],
)
def test_a_text_is_broken_at_spaces_and_loses_only_those(text, lines):
    assert by_letters(text, 7) == lines


def test_a_character_wider_than_the_line_stands_alone():
    assert by_letters("abc", 0) == ["a", "b", "c"]


def page_of() -> RecordPage:
    page = RecordPage(
        head=["Head"], foot="Foot", title="T", made_at=datetime(2026, 3, 2, tzinfo=UTC)
    )
    page.add_page()
    return page


def texts(page: RecordPage) -> list[str]:
    reader = PdfReader(io.BytesIO(bytes(page.output())))
    return [" ".join(one.extract_text().split()) for one in reader.pages]


def test_the_headings_of_a_table_come_again_on_every_page_it_reaches():
    page = page_of()
    page.grid(["Number", "Name"], [[str(n), f"name{n}"] for n in range(100)], (1, 3))
    found = texts(page)
    assert len(found) > 1
    assert all("Number Name" in one for one in found)
    assert [n for n in range(100) if f"{n} name{n}" not in " ".join(found)] == []


def test_a_row_higher_than_a_page_goes_on_over_pages():
    page = page_of()
    long = " ".join(f"word{n}" for n in range(900))
    page.grid(["Question", "Answer"], [["Short", long], ["Last", "yes"]], (3, 1))
    found = texts(page)
    assert len(found) > 2
    assert all("Question Answer" in one for one in found)
    words = " ".join(found).split()
    assert [n for n in range(900) if f"word{n}" not in words] == []
    assert "Last yes" in found[-1]


def test_head_and_foot_keep_their_place_where_a_value_runs_over_a_page():
    long = " ".join(f"word{n}" for n in range(1500))
    left = []

    def visit(text, _, at, *__):
        if text.startswith("Chart"):
            left.append(round(at[4], 1))

    for page in PdfReader(io.BytesIO(render_pdf(sample(indication=long), NAMES, FACTS))).pages:
        page.extract_text(visitor_text=visit)
    assert len(left) > 2
    assert len(set(left)) == 1

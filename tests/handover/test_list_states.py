"""What the papers say about lists that were answered in time, late, or not at all."""

import io

from pypdf import PdfReader

from api.handover import list_states
from api.handover.pdf import render_pdf
from api.handover.text import render_text
from tests.handover.sample import FACTS, NAMES, OPERATOR, sample

ZONE = "America/New_York"


def answered(kind: str, completed_at: str) -> dict:
    answer = {
        "item_id": "a",
        "text": "Laser in standby, then off",
        "answer": "yes",
        "note": None,
        "answered_at": completed_at,
        "by": OPERATOR,
    }
    return {
        "kind": kind,
        "list_id": kind,
        "list_version": 1,
        "title": "List",
        "led_by": OPERATOR,
        "answers": [answer],
        "completed_at": completed_at,
        "event_id": "e",
    }


# The sample's first pass starts at 14:05:00 UTC, 09:05 in New York; the procedure ends at 14:25.
LISTS = [
    answered("before_patient", "2026-11-18T14:06:40.000+00:00"),
    answered("after_use", "2026-11-18T15:30:00.000+00:00"),
]


def test_each_list_is_said_to_be_in_time_late_or_not_answered():
    record = sample(lists=LISTS, pauses=[])
    assert list_states.states(record, ZONE) == [
        # 14:06:40 less 14:05:00 is 100 s.
        ("before the patient", "answered at 09:06:40, late: 1 min 40 s after it was due"),
        ("time-out", "answered at 09:03:00, in time"),
        # 15:30 less 14:25 and 30 minutes is 35 minutes.
        ("after use", "answered at 10:30:00, late: 35 min after it was due"),
    ]
    pause = {"from_at": "2026-11-18T14:10:00.000+00:00", "to_at": None}
    missing = sample(lists=[], pauses=[pause], time_out=None)
    assert list_states.states(missing, ZONE) == [
        ("before the patient", "not answered"),
        ("time-out", "not answered"),
        ("pause at 09:10", "not answered"),
        ("after use", "not answered"),
    ]


def test_the_paper_shows_it():
    reader = PdfReader(io.BytesIO(render_pdf(sample(lists=LISTS), NAMES, FACTS)))
    words = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    assert "answered at 09:06:40, late: 1 min 40 s after it was due" in words
    assert "answered at 09:03:00, in time" in words
    empty = PdfReader(io.BytesIO(render_pdf(sample(lists=[]), NAMES, FACTS)))
    assert "not answered" in " ".join(page.extract_text() for page in empty.pages)


def test_the_text_names_only_what_is_late_or_missing():
    text = render_text(sample(lists=LISTS), NAMES, FACTS)
    assert (
        "Lists answered late: before the patient (1 min 40 s), after use (35 min)"
        in text.splitlines()
    )
    assert "Lists not answered" not in text
    assert "Lists not answered: before the patient, after use" in render_text(
        sample(lists=[]), NAMES, FACTS
    )
    in_time = [
        answered("before_patient", "2026-11-18T14:01:00.000+00:00"),
        answered("after_use", "2026-11-18T14:30:00.000+00:00"),
    ]
    assert "Lists" not in render_text(sample(lists=in_time), NAMES, FACTS)


def test_hours():
    long_after = [answered("after_use", "2026-11-18T17:10:00.000+00:00")]
    # 17:10 less 14:55 is 2 h 15 min.
    assert list_states.states(sample(lists=long_after), ZONE)[-1][1].endswith(
        "late: 2 h 15 min after it was due"
    )

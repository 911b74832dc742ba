"""Times as they are written and read: the grammar and the examples of RFC 3339."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from api.clock import SteppedClock, parse_rfc3339, rfc3339


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        # RFC 3339, section 5.8.
        ("1985-04-12T23:20:50.52Z", datetime(1985, 4, 12, 23, 20, 50, 520_000, UTC)),
        ("1996-12-19T16:39:57-08:00", datetime(1996, 12, 20, 0, 39, 57, tzinfo=UTC)),
        (
            "1937-01-01T12:00:27.87+00:20",
            datetime(1937, 1, 1, 12, 0, 27, 870_000, timezone(timedelta(minutes=20))),
        ),
        ("2026-11-25t10:15:30.123z", datetime(2026, 11, 25, 10, 15, 30, 123_000, UTC)),
    ],
)
def test_the_examples_of_the_standard_are_read(text, moment):
    assert parse_rfc3339(text) == moment


@pytest.mark.parametrize(
    "text",
    [
        "2026-11-25T10:15:30",  # no offset
        "2026-11-25 10:15:30Z",
        "20261125T101530Z",  # basic form of ISO 8601
        "2026-W48-3T10:15:30Z",  # week form of ISO 8601
        "2026-11-25T10:15Z",
        "2026-11-25T10:15:30,5Z",
        "2026-11-25T10:15:30+0100",
        "2026-02-30T10:15:30Z",
        "２０２６-11-25T10:15:30Z",  # full-width digits
        "0001-01-01T00:00:00Z",
        "9999-12-31T23:59:59-12:00",
        "",
        " 2026-11-25T10:15:30Z",
    ],
)
def test_other_forms_are_refused(text):
    with pytest.raises(ValueError):
        parse_rfc3339(text)


def test_what_is_written_is_read_back():
    clock = SteppedClock(datetime(2026, 11, 25, 10, 15, 30, 123_000, UTC))
    assert rfc3339(clock.now()) == "2026-11-25T10:15:30.123+00:00"
    assert parse_rfc3339(rfc3339(clock.now())) == clock.now()

"""Documents, the index of records, jobs, renderings and the access log."""

import hashlib
from datetime import UTC, datetime, timedelta

import pytest

from api.storage import access, documents, jobs, record_index, renderings
from api.storage.engine import read, write

pytestmark = pytest.mark.both_databases

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


def after(seconds):
    return NOW + timedelta(seconds=seconds)


def test_a_document_is_kept_as_it_was_last_put(engine):
    with write(engine) as connection:
        documents.put(connection, "l", "device", "d", {"label": "größer"}, position=1)
        documents.put(connection, "l", "device", "d", {"label": "other"}, position=4)
        documents.put(connection, "m", "device", "d", {"label": "foreign"}, position=9)
        assert documents.get(connection, "l", "device", "d") == {"label": "other"}
        assert documents.get(connection, "l", "device", "absent") is None
        assert documents.list(connection, "l", "device") == [{"label": "other"}]
        found = documents.changed(connection, "l", "house", after=0, upto=9, limit=10)
        assert found == [("device", "d", 4, '{"label":"other"}')]
        assert documents.changed(connection, "l", "house", after=4, upto=9, limit=10) == []
        documents.clear(connection, "l")
        assert documents.list(connection, "l", "device") == []
        assert documents.list(connection, "m", "device") == [{"label": "foreign"}]


def summary(record_id, **more):
    return {
        "record_id": record_id,
        "status": "draft",
        "version": 0,
        "chart_number": f"C-{record_id}",
        "procedure_text": "Frenectomy",
        "operator_name": "Müller",
        "passes": 1,
        "position": 1,
        "flags": [],
        **more,
    }


def found(connection, **query):
    wanted = record_index.Wanted(**query)
    rows, following = record_index.page(connection, "l", wanted, limit=50)
    assert following is None
    assert record_index.count(connection, "l", wanted) == len(rows)
    return [each["record_id"] for each in rows]


def test_records_are_found_by_day_of_the_practice_status_and_words(engine):
    with write(engine) as connection:
        # Half past midnight here is still the day before in UTC.
        for record_id, started, status in [
            ("a", "2026-03-02T00:30:00.000+01:00", "draft"),
            ("b", "2026-03-02T09:00:00.000+01:00", "signed"),
            ("c", "2026-03-03T09:00:00.000+01:00", "signed"),
        ]:
            row = summary(record_id, started_at=started, status=status, flags=["late"])
            record_index.put(connection, "l", row)
        record_index.put(connection, "l", summary("d%_", started_at=None, site="100% lip"))
        record_index.put(connection, "m", summary("foreign"))
        assert found(connection) == ["c", "b", "a", "d%_"]
        assert found(connection, from_day="2026-03-02", to_day="2026-03-02") == ["b", "a"]
        assert found(connection, status="signed") == ["c", "b"]
        assert found(connection, q="c-B") == ["b"]
        assert found(connection, q="%") == ["d%_"]
        # Every word counts, wherever it stands; case and accents do not.
        assert found(connection, q="frenectomy MULLER  C-a") == ["a"]
        assert found(connection, q="frenectomy muller c-x") == []
        assert found(connection, q="ÜLLER") == ["c", "b", "a", "d%_"]
        row = record_index.get(connection, "l", "a")
        assert (row["flags"], row["started_at"]) == (["late"], "2026-03-02T00:30:00.000+01:00")
        assert record_index.get(connection, "l", "foreign") is None


def test_the_queue_has_what_is_signed_and_not_placed_longest_waiting_first(engine):
    with write(engine) as connection:
        for record_id, signed, placed in [
            # By the clock on the wall "early" is later; by the time that passed it is not.
            ("late", "2026-03-02T09:30:00.000+00:00", None),
            ("early", "2026-03-02T10:00:00.000+01:00", None),
            ("placed", "2026-03-01T10:00:00.000+01:00", "2026-03-01T11:00:00.000+01:00"),
            ("draft", None, None),
        ]:
            row = summary(record_id, signed_at=signed, placed_at=placed)
            record_index.put(connection, "l", row)
        waiting = [each["record_id"] for each in record_index.queue(connection, "l")]
        assert waiting == ["early", "late"]
        assert record_index.queue(connection, "m") == []


def test_a_job_is_written_down_once_and_done_by_one(engine):
    with write(engine) as connection:
        assert jobs.enqueue(connection, "render_pdf", "r", 1, location_id="l")
        assert not jobs.enqueue(connection, "render_pdf", "r", 1, location_id="l")
        assert jobs.enqueue(connection, "render_pdf", "r", 2, location_id="l")
        first = jobs.claim(connection, now=NOW)
        second = jobs.claim(connection, now=NOW)
        assert (first["version"], second["version"]) == (1, 2)
        assert jobs.claim(connection, now=NOW) is None
        jobs.done(connection, first["job_id"], now=NOW)
        # The worker of the second one died: its claim runs out.
        assert jobs.claim(connection, now=after(jobs.LEASE_S - 1)) is None
        again = jobs.claim(connection, now=after(jobs.LEASE_S))
        assert (again["job_id"], again["tries"]) == (second["job_id"], 2)
        jobs.done(connection, again["job_id"], now=after(jobs.LEASE_S))
        assert jobs.claim(connection, now=after(10_000)) is None
        assert jobs.count_open(connection) == 0


def test_a_failed_job_waits_longer_each_time(engine):
    with write(engine) as connection:
        jobs.enqueue(connection, "render_pdf", "r", 1, location_id="l")
        moment, pauses = NOW, []
        for _ in range(10):
            job = jobs.claim(connection, now=moment)
            jobs.fail(connection, job["job_id"], "no font", now=moment)
            [row] = jobs.of_record(connection, "l", "r")
            pause = (datetime.fromisoformat(row["due_at"]) - moment).total_seconds()
            assert jobs.claim(connection, now=moment + timedelta(seconds=pause - 1)) is None
            pauses.append(pause)
            moment += timedelta(seconds=pause)
        assert pauses == [2, 4, 8, 16, 32, 64, 128, 256, 300, 300]
        [row] = jobs.of_record(connection, "l", "r")
        assert (row["problem"], row["tries"]) == ("no font", 10)


def test_the_first_rendering_stays(engine):
    with write(engine) as connection:
        first = renderings.put(connection, "l", "r", 1, "pdf", b"first", made_at=NOW)
        later = renderings.put(connection, "l", "r", 1, "pdf", b"later", made_at=after(9))
        assert later == first
        assert first["content"] == b"first"
        assert first["sha256"] == hashlib.sha256(b"first").hexdigest()
        assert renderings.get(connection, "l", "r", 2, "pdf") is None
        assert renderings.get(connection, "m", "r", 1, "pdf") is None


def test_accesses_are_noted_in_the_transaction_of_their_cause(engine):
    def note(connection, subject_id):
        access.note(
            connection,
            location_id="l",
            at=NOW,
            action="read",
            actor_id="p",
            subject_kind="record",
            subject_id=subject_id,
            detail={"how": "screen"},
        )

    with write(engine) as connection:
        note(connection, "r1")
        note(connection, "r2")
    with pytest.raises(KeyError), write(engine) as connection:
        note(connection, "r3")
        raise KeyError
    with read(engine) as connection:
        rows = access.entries(connection, "l")
        assert [row["subject_id"] for row in rows] == ["r2", "r1"]
        assert (rows[0]["detail"], rows[0]["at"]) == (
            {"how": "screen"},
            "2026-03-02T09:00:00.000+00:00",
        )
        assert len(access.entries(connection, "l", subject_id="r1")) == 1
        assert access.entries(connection, "m") == []

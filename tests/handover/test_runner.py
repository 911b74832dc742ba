"""Renderings as jobs: done once, the first one stays, a failure is kept and tried again."""

import hashlib
import threading

import pytest

from api.handover import source
from api.storage import jobs, readers, renderings
from api.storage.engine import read, write
from api.work.runner import run_forever, run_once
from tests.handover.signed_log import LOCATION, SignedLog


@pytest.fixture
def log(tmp_path):
    made = SignedLog(tmp_path)
    yield made
    made.engine.dispose()


def stored(log, kind="pdf", version=1):
    with read(log.engine) as connection:
        return renderings.get(connection, LOCATION, log.record_id, version, kind)


def job_rows(log):
    with read(log.engine) as connection:
        return jobs.of_record(connection, LOCATION, log.record_id)


def test_a_signature_causes_both_renderings_stored_and_hashed(log):
    assert run_once(log.engine, log.clock) == 2
    assert stored(log, "pdf")["content"].startswith(b"%PDF-")
    text = stored(log, "text")
    assert "chart C-20417" in text["content"].decode()
    assert text["sha256"] == hashlib.sha256(text["content"]).hexdigest()
    assert run_once(log.engine, log.clock) == 0


def test_position_and_link_are_those_of_the_signature(log):
    with read(log.engine) as connection:
        _, names, facts = source.gather(connection, LOCATION, log.record_id, 1)
        # Five events were appended to an empty log; the fifth is the signature.
        assert facts["position"] == 5
        assert facts["link"] == readers.link_at(connection, LOCATION, 5).hex()
    assert facts["practice_name"] == "Sample Dental"
    assert any(person["display_name"] == "Dr Marl Testwood" for person in names.values())


def test_the_first_rendering_stays_whatever_comes_later(log):
    with write(log.engine) as connection:
        where = (LOCATION, log.record_id, 1, "pdf", b"first")
        renderings.put(connection, *where, made_at=log.clock.now())
    assert run_once(log.engine, log.clock) == 2
    assert stored(log)["content"] == b"first"


def test_a_worker_that_died_half_way_leaves_the_job_to_the_next(log):
    with write(log.engine) as connection:
        assert jobs.claim(connection, now=log.clock.now())["kind"] == "render_pdf"
    assert run_once(log.engine, log.clock) == 1
    assert stored(log) is None
    log.clock.advance(jobs.LEASE_S + 1)
    assert run_once(log.engine, log.clock) == 1
    assert stored(log) is not None


def test_a_failure_is_recorded_without_the_patients_data_and_tried_again(log, monkeypatch):
    def broken(record, names, facts):
        raise RuntimeError(f"cannot draw {record['patient']}")

    with monkeypatch.context() as patch:
        patch.setitem(source.RENDERERS, "pdf", broken)
        # The other job is not held up.
        assert run_once(log.engine, log.clock) == 1
    failed = next(row for row in job_rows(log) if row["kind"] == "render_pdf")
    assert (failed["state"], failed["problem"]) == ("waiting", "RuntimeError")
    assert stored(log) is None
    assert run_once(log.engine, log.clock) == 0
    log.clock.advance(jobs.FIRST_RETRY_S + 1)
    assert run_once(log.engine, log.clock) == 1
    assert stored(log) is not None


def test_a_version_that_is_not_there_fails_with_its_code(log):
    with write(log.engine) as connection:
        jobs.enqueue(connection, "render_pdf", log.record_id, 2, location_id=LOCATION)
    assert run_once(log.engine, log.clock) == 2
    assert job_rows(log)[-1]["problem"] == "version_not_found"


def test_each_version_shows_only_its_own_addenda(log):
    for text in ("first addendum", "second addendum"):
        log.append("record.addended", {"text": text, "reason": "Follow-up"})
    assert run_once(log.engine, log.clock) == 6
    one, two, three = (stored(log, "text", version)["content"].decode() for version in (1, 2, 3))
    assert "addendum" not in one and " v1, log position 5" in one
    assert "first addendum" in two and "second addendum" not in two
    assert " v2, log position 6" in two
    assert "first addendum" in three and "second addendum" in three
    assert " v3, log position 7" in three


def test_the_worker_goes_on_until_it_is_stopped(log):
    stop = threading.Event()
    made = threading.Event()
    put = renderings.put

    def put_and_tell(*args, **more):
        answer = put(*args, **more)
        made.set()
        return answer

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(renderings, "put", put_and_tell)
        worker = threading.Thread(target=run_forever, args=(log.engine, log.clock, stop))
        worker.start()
        assert made.wait(30)
        stop.set()
        worker.join(30)
    assert not worker.is_alive()
    assert stored(log) is not None

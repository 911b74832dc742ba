"""A record as it stood at each version, and the papers that versions make."""

import pytest

from api.records.versions import at_version

pytestmark = pytest.mark.both_databases(long=True)


def test_a_record_as_it_stood(log):
    log.enter_all("open", "end")
    log.sign()
    log.enter_all("addendum")
    first = at_version(log.record, 1)
    assert (first["status"], first["version"], first["addenda"]) == ("signed", 1, [])
    assert at_version(log.record, 2) == log.record
    for version in (0, 3):
        with pytest.raises(ValueError, match="versions 1 to 2"):
            at_version(log.record, version)


def test_each_version_has_its_patient_its_addenda_and_its_status(log):
    log.enter_all("open", "end")
    log.sign()
    log.enter_all("addendum", "move-late", "void")
    told = []
    for version in (1, 2, 3, 4):
        record = at_version(log.record, version)
        told.append(
            (
                record["status"],
                record["patient"]["chart_number"],
                len(record["addenda"]),
                len(record["reattributions"]),
                record["voided"] is not None,
            )
        )
    assert told == [
        ("signed", "4711", 0, 0, False),
        ("amended", "4711", 1, 0, False),
        ("amended", "4713", 1, 1, False),
        ("void", "4713", 1, 1, True),
    ]


def test_no_paper_is_made_any_more_with_the_name_of_somebody_else(log):
    log.enter_all("open", "pass4", "move-desk", "end")
    log.sign()
    # By another writer, so it counts as a version of its own; the first one is never written.
    assert log.record["version"] == 2
    assert log.jobs() == [("render_pdf", 2), ("render_text", 2)]


def test_moving_and_voiding_make_papers_of_the_new_version(log):
    log.enter_all("open", "pass4", "end")
    log.sign()
    log.enter_all("move-late")
    assert log.jobs()[-1] == ("render_text", 2)
    log.enter_all("void")
    assert log.jobs()[-1] == ("render_text", 3)

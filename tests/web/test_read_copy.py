"""DATABASE_READ_URL: what may be some moments old is read from a copy of the database."""

import sqlite3
from contextlib import closing
from dataclasses import replace

from api.app import create_app


def test_what_was_used_before_is_read_from_the_copy(equipped, settings, clock, tmp_path):
    practice, _ = equipped
    tablet = practice.tablet("clinician")
    practice.signed_record(tablet, kind="kind-1")
    tablet.push()
    copy = tmp_path / "copy.sqlite3"

    def asked():
        app = create_app(replace(settings, database_read_url=f"sqlite:///{copy}"), clock=clock)
        practice.app = app
        found = practice.desk("clinician").ask("GET", "/procedures/kind-1/usage")
        for engine in (app.extensions["dosebook"].engine, app.extensions["dosebook"].report_engine):
            engine.dispose()
        return found["records"]

    with closing(sqlite3.connect(settings.database_url.removeprefix("sqlite:///"))) as raw:
        raw.execute("VACUUM INTO ?", (str(copy),))
    # Behind by one record, as a copy may be.
    practice.signed_record(tablet, kind="kind-1")
    tablet.push()
    assert asked() == 1


def test_without_one_the_database_itself_is_read(app):
    house = app.extensions["dosebook"]
    assert house.report_engine is house.engine

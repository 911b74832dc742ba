"""What the tests of projected records stand on."""

import shutil

import pytest

from api.storage import documents, event_store
from api.storage.engine import open_engine, write
from tests.records.projected import LOCATION, Log


@pytest.fixture
def log(tmp_path, migrated_template, clock, monkeypatch):
    path = tmp_path / "records.sqlite3"
    shutil.copy(migrated_template, path)
    engine = open_engine(f"sqlite:///{path}")
    with write(engine) as connection:
        event_store.open_location(connection, LOCATION, epoch="epoch-1", now=clock.now())
        person = {
            "display_name": "Dr. Test",
            "initials": "DT",
            "roles": ["clinician"],
            "licence_expires": "2099-12-31",
        }
        documents.put(connection, LOCATION, "person", "dent", person, position=0)
        yield Log(connection, clock, monkeypatch)
    engine.dispose()

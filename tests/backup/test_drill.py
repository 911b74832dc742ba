"""The drill: a backup under a load of pushes, damage to the original, restore, verify, compare.

On a copy of the demo practice in the long check; a smaller load on a server's database as well.
"""

import random
import threading
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import make_url

from api.app import PROJECTORS, create_app
from api.audit.verify import verify_log
from api.backup import checking, keys, making, restoring
from api.demo import play
from api.demo.tablet_client import TabletClient
from api.demo.transport import from_test_client
from api.people import tablets
from api.storage import copies, documents, readers
from api.storage.engine import DBAPIError, open_engine, read, write
from api.work import runner
from tests import postgresql

pytestmark = pytest.mark.long
SEED = 20260302
TABLETS = 3


@pytest.fixture
def demo(settings, clock, request, database_url, monkeypatch):
    """The demo practice on the test's database; returns its application."""
    if not database_url.startswith("sqlite"):
        server = request.getfixturevalue("postgresql_server")
        monkeypatch.setenv("DOSEBOOK_PG_BIN", str(server.programs))
    app = create_app(settings, clock=clock)
    house = app.extensions["dosebook"]
    play.load(
        settings,
        engine=house.engine,
        open_app=lambda stepped: create_app(settings, clock=stepped),
        projectors=PROJECTORS,
        now=clock.now(),
        work=runner.run_once,
        progress=lambda _done, _of: None,
    )
    yield house
    house.engine.dispose()


def pushing(loaded: tuple, stop: threading.Event, sent: list[str], failures: list) -> None:
    """Push notes, one after the other, until told to stop; keep what was acknowledged."""
    tablet, record_id = loaded
    number = 0
    while not stop.is_set() and number < 400:
        text = f"{record_id} {number}"
        try:
            tablet.record("procedure.noted", record_id, {"text": text})
            tablet.push()
        except Exception as problem:
            failures.append(problem)
            return
        sent.append(text)
        number += 1


@pytest.mark.both_databases
def test_a_backup_under_load_brings_everything_in_it_back(
    demo, settings, clock, tmp_path, database_url, request
):
    words = keys.new_recovery_key(settings, clock, demo.random)
    app = create_app(settings, clock=clock)
    with read(demo.engine) as connection:
        # The demo has several; the tablets are at one of them.
        locations = readers.locations(connection)
        location = locations[0]
        location_id = location["location_id"]
        person_id = next(
            each["person_id"]
            for each in documents.list(connection, location_id, "person")
            if "clinician" in each["roles"]
        )
    loaded = []
    for number in range(TABLETS):
        with write(demo.engine) as connection:
            code = tablets.make_code(
                connection, location_id=location_id, made_by=None, clock=clock, random=demo.random
            )["code"]
        tablet = TabletClient(from_test_client(app.test_client()), clock, label=f"T{number}")
        tablet.enrol(code)
        tablet.person = {"person_id": person_id}
        loaded.append((tablet, tablet.new_id()))
    stop, failures = threading.Event(), []
    sent: list[list[str]] = [[] for _ in loaded]
    threads = [
        threading.Thread(target=pushing, args=(each, stop, texts, failures))
        for each, texts in zip(loaded, sent, strict=True)
    ]
    for thread in threads:
        thread.start()
    while not all(sent) and not failures:
        stop.wait(0.01)
    before = sum(map(len, sent))
    made = making.make(settings, demo.engine, clock, demo.random, folder=tmp_path / "backups")
    after = sum(map(len, sent))
    stop.set()
    for thread in threads:
        thread.join()
    assert failures == []
    said = checking.check(Path(made["path"]))
    inside_of = {each["location_id"]: each["position"] for each in said["locations"]}
    assert inside_of.keys() == {each["location_id"] for each in locations}
    inside = inside_of[location_id]
    # Pushes went on while it was made; all that was acknowledged before it began is inside.
    assert location["position"] + TABLETS + before <= inside
    assert after > before

    app.extensions["dosebook"].engine.dispose()
    demo.engine.dispose()
    target = damage(settings, request, database_url)
    restoring.restore(
        target,
        clock,
        demo.random,
        folder=Path(made["path"]),
        who="drill",
        why="the original was damaged",
        replace=True,
        ask_recovery_key=lambda: words,
        projectors=PROJECTORS,
    )
    engine = open_engine(target.database_url, reach=("*",))
    with read(engine) as connection:
        counts = copies.row_counts(connection)
    report = verify_log(engine)
    engine.dispose()
    # Each location's log says that it was restored, of which backup, and by whom.
    one_more = ("event", "payload", "access_log", "backup")
    more = {name: len(locations) * (name in one_more) for name in said["counts"]}
    assert counts == {name: n + more[name] for name, n in said["counts"].items()}
    assert report["ok"]
    assert report["entries"] == sum(inside_of.values()) + len(locations)


def damage(settings, request, database_url):
    """Spoil the original so that it can no longer be used; return where to restore to."""
    if database_url.startswith("sqlite"):
        path = Path(make_url(database_url).database)
        content = bytearray(path.read_bytes())
        chance = random.Random(SEED)
        for _ in range(2000):
            content[chance.randrange(len(content))] = chance.randrange(256)
        path.write_bytes(content)
        engine = open_engine(database_url, reach=("*",))
        with pytest.raises(DBAPIError):
            verify_log(engine)
        engine.dispose()
        return settings
    server = request.getfixturevalue("postgresql_server")
    name = make_url(database_url).database
    # The program that played the demo is gone by now; its connections are still there.
    server.run(
        "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
        f" WHERE datname = '{name}' AND application_name = 'dosebook'"
    )
    server.run("DROP TABLE event CASCADE", database=name)
    return replace(settings, database_owner_url=server.url(name, as_role=postgresql.OWNER))

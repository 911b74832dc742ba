"""A pooler between us and PostgreSQL may give each transaction another connection of the server.

So nothing may stay behind in a session, but for statements that are kept prepared where the server
itself answers. What a session can keep is that of the PostgreSQL manual:
settings (SET without LOCAL), prepared statements, cursors WITH HOLD, advisory locks, LISTEN and
temporary tables; the manual of pgbouncer lists the same as what transaction pooling breaks
("SQL feature map for pooling modes").
"""

import shutil
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import psycopg
import pytest
from sqlalchemy import create_engine, event
from sqlalchemy.engine import make_url

from api.app import create_app
from api.audit.verify import verify_log
from api.settings import Settings
from api.storage import reach
from api.storage.engine import DBAPIError, open_engine, read, write
from api.storage.postgresql import PREPARED_AFTER
from tests.bench.processes import running
from tests.postgresql import LOGIN
from tests.storage import relay
from tests.web.practice import Practice

KEPT = """
SELECT 'setting ' || name FROM pg_settings WHERE source = 'session'
    AND name NOT IN ('transaction_isolation', 'transaction_read_only')
UNION ALL SELECT 'role ' || current_user WHERE current_user <> session_user
UNION ALL SELECT 'reach' WHERE current_setting('dosebook.locations', true) <> ''
UNION ALL SELECT 'statement ' || name FROM pg_prepared_statements
UNION ALL SELECT 'cursor ' || name FROM pg_cursors WHERE is_holdable
UNION ALL SELECT 'lock' FROM pg_locks WHERE pid = pg_backend_pid() AND locktype = 'advisory'
UNION ALL SELECT 'channel ' || name FROM pg_listening_channels() AS name
UNION ALL SELECT 'table ' || relname FROM pg_class WHERE relnamespace = pg_my_temp_schema()
"""


def watch(engine) -> list[str]:
    """Return a list that fills with whatever a session still holds when it is given back."""
    kept = []

    def look(raw, _record):
        if raw is not None:
            kept.extend(row[0] for row in raw.execute(KEPT).fetchall())
            # No ROLLBACK: after one the driver lets go of what it had prepared.
            raw.commit()

    event.listen(engine, "checkin", look)
    return kept


@pytest.fixture
def app_at(tmp_path, clock):
    """Make the application on a database's URL."""
    made = []

    def make(url: str, read_url: str | None = None):
        settings = Settings.from_env(
            {"DOSEBOOK_DATA": str(tmp_path), "DATABASE_URL": url, "DOSEBOOK_LIMIT_FACTOR": "1000"}
        )
        made.append(create_app(replace(settings, database_read_url=read_url), clock=clock))
        return made[-1]

    yield make
    for app in made:
        house = app.extensions["dosebook"]
        house.engine.dispose()
        house.report_engine.dispose()


def work_through(app, *, name: str) -> None:
    """Let a location be opened, a tablet push and pull, a person sign in and read at a desk."""
    with reach.within(*reach.EVERYWHERE):
        practice = Practice(app, app.extensions["dosebook"].clock, name=name, roles=("clinician",))
        tablet = practice.tablet("clinician")
        practice.signed_record(tablet)
        assert {each["outcome"] for each in tablet.push()} == {"applied"}
        tablet.pull()
        desk = practice.desk("clinician")
    assert len(desk.ask("GET", "/records")["records"]) == 1


@pytest.fixture
def relayed(postgresql_server):
    """Return what makes the URL of a database behind what names no process that answers."""
    folder = make_url(postgresql_server.url("postgres")).query["host"]
    with relay.naming(2**31 - 1, socket_path=f"{folder}/.s.PGSQL.5432") as port:
        yield lambda name: f"postgresql+psycopg://{LOGIN}@127.0.0.1:{port}/{name}?sslmode=disable"


def test_nothing_stays_behind_in_a_session(postgresql_server, relayed, app_at):
    app = app_at(relayed(postgresql_server.new_migrated()))
    kept = watch(app.extensions["dosebook"].engine)
    for room in ("North room", "South room"):
        work_through(app, name=room)
    assert kept == []


def test_where_the_server_itself_answers_its_statements_stay(postgresql_server, app_at):
    """Without the relay it is found, so the test above asks for something that there is."""
    app = app_at(postgresql_server.url(postgresql_server.new_migrated()))
    kept = watch(app.extensions["dosebook"].engine)
    for room in ("North room", "South room"):
        work_through(app, name=room)
    assert kept
    assert {each.split()[0] for each in kept} == {"statement"}


def test_a_prepared_statement_asks_anew_what_a_transaction_may_reach(postgresql_server, app_at):
    """What a statement was planned for in one transaction does not hold in the next."""
    app = app_at(postgresql_server.url(postgresql_server.new_migrated()))
    for room in ("North room", "South room"):
        work_through(app, name=room)
    engine = app.extensions["dosebook"].engine

    def seen(*locations: str) -> set[str]:
        with read(engine, locations=locations) as connection:
            return set(connection.exec_driver_sql("SELECT location_id FROM location").scalars())

    both = seen(*reach.EVERYWHERE)
    assert len(both) == 2
    for _ in range(2 * PREPARED_AFTER):
        assert [seen(one) for one in sorted(both)] == [{one} for one in sorted(both)]
        assert seen() == set()
    with read(engine, locations=()) as connection:
        known = connection.exec_driver_sql("SELECT statement FROM pg_prepared_statements")
        assert "SELECT location_id FROM location" in set(known.scalars())


@pytest.mark.parametrize(
    ("statement", "found"),
    [
        ("SET lock_timeout = '1s'", "setting lock_timeout"),
        ("SELECT set_config('dosebook.locations', '*', false)", "reach"),
        ("SET ROLE dosebook_app", "role dosebook_app"),
        ("PREPARE one AS SELECT 1", "statement one"),
        ("DECLARE two CURSOR WITH HOLD FOR SELECT 1", "cursor two"),
        ("SELECT pg_advisory_lock(1)", "lock"),
        ("LISTEN three", "channel three"),
        ("CREATE TEMPORARY TABLE four ()", "table four"),
    ],
)
def test_whatever_would_stay_is_found(postgresql_server, statement, found):
    """Known-bad stubs: each of what a pooler would hand to the next client."""
    url = make_url(postgresql_server.url(postgresql_server.emptied()))
    engine = create_engine(url)
    kept = watch(engine)
    with engine.begin() as connection:
        connection.exec_driver_sql(statement)
    assert found in kept
    engine.dispose()


def test_reports_are_read_from_a_copy_that_takes_no_writes(postgresql_server, app_at):
    """A standby refuses every write, as this copy does; it is behind by what came after it."""
    name = postgresql_server.new_migrated()
    app = app_at(postgresql_server.url(name))
    work_through(app, name="North room")
    app.extensions["dosebook"].engine.dispose()
    postgresql_server.run(f"CREATE DATABASE {name}_copy TEMPLATE {name}")
    postgresql_server.run(
        "REVOKE INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public FROM dosebook_app",
        database=f"{name}_copy",
    )
    app = app_at(postgresql_server.url(name), postgresql_server.url(f"{name}_copy"))
    house = app.extensions["dosebook"]
    work_through(app, name="South room")

    def locations(engine):
        with read(engine, locations=reach.EVERYWHERE) as connection:
            return connection.exec_driver_sql("SELECT count(*) FROM location").scalar_one()

    assert (locations(house.engine), locations(house.report_engine)) == (2, 1)
    with (
        pytest.raises(DBAPIError),
        write(house.report_engine, locations=reach.EVERYWHERE) as connection,
    ):
        connection.exec_driver_sql("UPDATE location SET epoch = 'x'")


PGBOUNCER = shutil.which("pgbouncer") or shutil.which("pgbouncer", path="/usr/sbin")


@pytest.fixture
def pooled(postgresql_server, tmp_path_factory):
    """Return what makes the URL of a database behind pgbouncer, two connections for all clients."""
    folder = Path("/tmp") / tmp_path_factory.mktemp("pooler").name
    folder.mkdir()
    users = folder / "users"
    users.write_text(f'"{LOGIN}" ""\n')
    settings = folder / "pgbouncer.ini"
    host = make_url(postgresql_server.url("postgres")).query["host"]

    def command(port: int) -> list[str]:
        settings.write_text(
            f"[databases]\n* = host={host}\n"
            f"[pgbouncer]\nlisten_addr = 127.0.0.1\nlisten_port = {port}\nunix_socket_dir =\n"
            f"auth_type = trust\nauth_file = {users}\n"
            "pool_mode = transaction\ndefault_pool_size = 2\n"
        )
        # It does not run as root, and has to get at the server's socket.
        return [PGBOUNCER, "-u", Path(host).owner(), str(settings)]

    with running(command, folder=folder) as pooler:
        yield lambda name: f"postgresql+psycopg://{LOGIN}@127.0.0.1:{pooler.port}/{name}"
    shutil.rmtree(folder)


@pytest.mark.long
@pytest.mark.skipif(PGBOUNCER is None, reason="pgbouncer is not installed")
def test_several_locations_at_work_behind_a_pooler(postgresql_server, pooled, app_at):
    name = postgresql_server.new_migrated()
    app = app_at(pooled(name))
    with ThreadPoolExecutor(4) as at_once:
        list(at_once.map(lambda room: work_through(app, name=room), "ABCD"))
    engine = open_engine(postgresql_server.url(name), reach=reach.EVERYWHERE)
    said = verify_log(engine)
    engine.dispose()
    assert said["ok"] and len(said["locations"]) == 4


@pytest.mark.long
@pytest.mark.skipif(PGBOUNCER is None, reason="pgbouncer is not installed")
def test_a_session_is_another_clients_behind_a_pooler(postgresql_server, pooled):
    """Known-bad stub: what one client leaves in its session is met by the others."""
    url = pooled(postgresql_server.new_migrated()).replace("+psycopg", "")
    with psycopg.connect(url) as first, psycopg.connect(url) as second:
        first.execute("SET lock_timeout = '7s'")
        first.commit()
        assert second.execute("SHOW lock_timeout").fetchone() == ("7s",)

"""PostgreSQL keeps locations apart by itself: what the catalogue says, and what statements get.

What must hold is that of the PostgreSQL manual (15 and later), "Row Security Policies" and the
page of ALTER TABLE ... FORCE ROW LEVEL SECURITY: a policy with USING decides what is seen, changed
and deleted, WITH CHECK what a row may become; owners are exempt unless it is forced, superusers
and roles with BYPASSRLS always.
"""

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import LargeBinary, delete, insert, select, text, update

from api.errors import BadInput
from api.migrations import run, wall
from api.storage import reach, tables
from api.storage.engine import EVERYWHERE, DBAPIError, narrow, open_engine, read, write
from api.storage.postgresql import APP_ROLE
from tests.postgresql import LOGIN, OWNER

OURS = sorted(tables.metadata.tables)
NAMING = [name for name in OURS if "location_id" in tables.metadata.tables[name].c]


@pytest.fixture(scope="module")
def database(postgresql_server):
    return postgresql_server.new_migrated()


@pytest.fixture(scope="module")
def engine(postgresql_server, database):
    """The application's connection; it reaches nothing unless it says so."""
    opened = open_engine(postgresql_server.url(database))
    yield opened
    opened.dispose()


@pytest.fixture(scope="module")
def damaged(postgresql_server):
    """A database to be damaged: (name, the owner's engine)."""
    name = postgresql_server.new_migrated()
    opened = open_engine(
        postgresql_server.url(name, as_role=OWNER), reach=EVERYWHERE, as_owner=True
    )
    yield name, opened
    opened.dispose()


@pytest.fixture
def spare(postgresql_server, damaged):
    """The same, put right again after the test; rows stay."""
    yield damaged
    name, owner = damaged
    with write(owner) as connection:
        connection.exec_driver_sql("DROP TABLE IF EXISTS newcomer")
    upgrade(postgresql_server, name)


def upgrade(server, name):
    run.upgrade(server.url(name), owner_url=server.url(name, as_role=OWNER))


# --- what the catalogue says ---------------------------------------------------------------


def test_the_tables_are_those_that_the_program_believes_in(engine):
    with read(engine) as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, tables.metadata) == []


def test_every_table_is_behind_the_wall(postgresql_server, database):
    rows = postgresql_server.run(
        "SELECT c.relname, c.relrowsecurity AND c.relforcerowsecurity, pg_get_userbyid(c.relowner),"
        " (SELECT count(*) FROM pg_policies AS p WHERE p.tablename = c.relname"
        "  AND p.cmd = 'ALL' AND p.qual IS NOT NULL AND p.with_check = p.qual)"
        " FROM pg_class AS c WHERE c.relkind IN ('r', 'p')"
        " AND c.relnamespace = 'public'::regnamespace AND c.relname <> 'alembic_version'",
        database=database,
    )
    assert sorted(row[0] for row in rows) == OURS
    assert {row[1:] for row in rows} == {(True, OWNER, 1)}


def test_a_table_without_a_location_says_why():
    """Says it in ``BY_ANOTHER`` or ``SHARED`` of ``api/migrations/wall.py``, for one not here."""
    assert sorted(wall.BY_ANOTHER.keys() | wall.SHARED.keys()) == sorted(set(OURS) - set(NAMING))


def test_the_applications_role_owns_nothing_and_bypasses_nothing(postgresql_server, database):
    [role] = postgresql_server.run(
        "SELECT rolsuper, rolbypassrls, rolcreaterole, rolcreatedb, rolcanlogin,"
        " EXISTS (SELECT FROM pg_auth_members AS m WHERE m.member = pg_roles.oid)"
        f" FROM pg_roles WHERE rolname = '{APP_ROLE}'"
    )
    assert not any(role)
    owned = postgresql_server.run(
        "SELECT count(*) FROM pg_shdepend AS d JOIN pg_roles AS r ON r.oid = d.refobjid"
        f" WHERE d.deptype = 'o' AND r.rolname IN ('{APP_ROLE}', '{LOGIN}')",
        database=database,
    )
    assert owned == [(0,)]


def test_keys_that_a_location_chooses_start_with_it(postgresql_server, database):
    """Else a row of one location could stand in the way of another's, and tell that it is there.

    Those that do not are of values drawn by the server itself, or by nobody's choice twice: hashes
    of secrets, running numbers, a tablet's id; and two that are one of a kind in the whole house.
    """
    rows = postgresql_server.run(
        "SELECT i.relname FROM pg_index AS x JOIN pg_class AS i ON i.oid = x.indexrelid"
        " JOIN pg_class AS t ON t.oid = x.indrelid"
        " JOIN pg_attribute AS a ON a.attrelid = t.oid AND a.attnum = x.indkey[0]"
        " WHERE x.indisunique AND t.relnamespace = 'public'::regnamespace"
        " AND a.attname <> 'location_id' AND t.relname <> 'alembic_version' ORDER BY 1",
        database=database,
    )
    drawn = {"pk_tablet", "pk_enrol_code", "pk_challenge", "pk_token", "pk_link", "pk_ceremony"}
    numbered = {"pk_access_log", "pk_job", "pk_asked"}
    single = {"uq_secret_sign_in", "uq_factor_credential_id"}
    # Of a group's server: ids and codes that it draws, and a practice's own key.
    of_a_group = {"pk_practice", "pk_group_code", "uq_practice_public_key"}
    assert {row[0] for row in rows} == drawn | numbered | single | of_a_group


# --- what statements get -------------------------------------------------------------------


def row_of(table, location_id):
    """Return a row with something in every column, of this location."""
    row = {}
    for column in table.c:
        if column.name == "location_id":
            row[column.name] = location_id
        elif (
            column.primary_key
            and column.autoincrement is not False
            and len(table.primary_key.columns) == 1
            and column.type.python_type is int
        ):
            continue
        elif isinstance(column.type, LargeBinary):
            row[column.name] = location_id.encode()
        elif column.type.python_type is int:
            row[column.name] = 1
        else:
            row[column.name] = location_id
    return row


@pytest.fixture(scope="module")
def filled(engine):
    """Put a row of each of two locations into every table that names one."""
    for location_id in ("a", "b"):
        with write(engine, locations=[location_id]) as connection:
            for table in tables.metadata.sorted_tables:
                if table.name in NAMING:
                    connection.execute(insert(table).values(row_of(table, location_id)))
            connection.execute(
                insert(tables.challenge).values(
                    nonce_hash=f"n-{location_id}", tablet_id=location_id, expires_at="x"
                )
            )
    return engine


def told(filled, name, locations):
    with read(filled, locations=locations) as connection:
        rows = connection.exec_driver_sql(f"SELECT location_id FROM {name} ORDER BY 1")
        return rows.scalars().all()


@pytest.mark.parametrize("name", NAMING)
def test_nothing_of_another_location_is_seen(filled, name):
    assert told(filled, name, ["a"]) == ["a"]
    assert told(filled, name, ["a", "b"]) == ["a", "b"]
    assert told(filled, name, ["c"]) == []
    assert told(filled, name, None) == [], "with nothing said, nothing is in reach"
    assert told(filled, name, EVERYWHERE) == ["a", "b"]


@pytest.mark.parametrize("name", NAMING)
def test_nothing_of_another_location_is_written(filled, name):
    table = tables.metadata.tables[name]
    there = table.c.location_id == "b"
    a = {"locations": ["a"]}
    with pytest.raises(DBAPIError, match="row-level security"), write(filled, **a) as connection:
        connection.execute(insert(table).values(row_of(table, "b")))
    if name in tables.APPEND_ONLY:
        for statement in (update(table).values(location_id="a"), delete(table)):
            with pytest.raises(DBAPIError, match="permission"), write(filled, **a) as connection:
                connection.execute(statement)
        return
    with write(filled, **a) as connection:
        assert connection.execute(update(table).values(location_id="a").where(there)).rowcount == 0
        assert connection.execute(delete(table).where(there)).rowcount == 0
    # What is one's own cannot be pushed over to another location either.
    with pytest.raises(DBAPIError, match="row-level security"), write(filled, **a) as connection:
        connection.execute(update(table).values(location_id="b"))


def test_what_names_no_location_goes_with_what_it_belongs_to(filled):
    for locations, seen in ((["a"], ["n-a"]), (["b"], ["n-b"]), ([], [])):
        with read(filled, locations=locations) as connection:
            found = connection.execute(select(tables.challenge.c.nonce_hash)).scalars().all()
        assert found == seen


def test_no_trick_with_a_statement_gets_round_it(filled):
    tricks = (
        "SELECT count(*) FROM record_index WHERE location_id = 'b' OR true",
        "SELECT count(*) FROM (TABLE event UNION ALL TABLE event) AS x WHERE x.location_id = 'b'",
        "SELECT count(*) FROM event AS e JOIN payload AS p USING (event_id)"
        " WHERE p.location_id = 'b' OR e.location_id = 'b'",
        "WITH x AS (SELECT * FROM secret) SELECT count(*) FROM x WHERE location_id <> 'a'",
    )
    for trick in tricks:
        with read(filled, locations=["a"]) as connection:
            found = connection.exec_driver_sql(trick).scalar_one()
            assert found == (1 if "OR true" in trick else 0)
    for trick in (
        "ALTER TABLE event DISABLE ROW LEVEL SECURITY",
        "DROP POLICY reach ON event",
        "TRUNCATE record_index",
        "CREATE TABLE mine (x text)",
        "UPDATE alembic_version SET version_num = '0'",
    ):
        refused = pytest.raises(DBAPIError, match=r"permission denied|must be owner")
        with refused, write(filled, locations=["a"]) as connection:
            connection.exec_driver_sql(trick)


def test_a_transaction_can_be_narrowed_and_leaves_nothing_behind(filled):
    with read(filled, locations=EVERYWHERE) as connection:
        asked = text("SELECT location_id FROM tablet ORDER BY 1")
        assert connection.execute(asked).scalars().all() == ["a", "b"]
        narrow(connection, "b")
        assert connection.execute(asked).scalars().all() == ["b"]
    state = text("SELECT current_user, session_user, current_setting('dosebook.locations', true)")
    with filled.connect() as connection:
        # As the next client of a pooled connection finds it: outside what read() and write() set.
        raw = connection.connection.driver_connection
        raw.autocommit = True
        left = raw.execute(state.text).fetchone()
        raw.autocommit = False
    assert left == (LOGIN, LOGIN, "")


def test_a_thread_says_once_what_it_reaches(filled):
    asked = text("SELECT location_id FROM tablet ORDER BY 1")
    with reach.within("a"):
        with read(filled) as connection:
            assert connection.execute(asked).scalars().all() == ["a"]
        with read(filled, locations=["b"]) as connection:
            assert connection.execute(asked).scalars().all() == ["b"]
    with read(filled) as connection:
        assert connection.execute(asked).scalars().all() == []
    with pytest.raises(ValueError, match="comma"), read(filled, locations=["a,b"]):
        pass


# --- the known-bad ones --------------------------------------------------------------------


def test_without_force_the_owner_would_see_everything(spare):
    """Why FORCE: tables belong to the role that upgrades them, and it runs statements too."""
    _, owner = spare
    with write(owner) as connection:
        connection.execute(insert(tables.document).values(row_of(tables.document, "b")))
    asked = text("SELECT count(*) FROM document")
    with read(owner, locations=["a"]) as connection:
        assert connection.execute(asked).scalar_one() == 0
    with write(owner) as connection:
        connection.exec_driver_sql("ALTER TABLE document NO FORCE ROW LEVEL SECURITY")
    with read(owner, locations=["a"]) as connection:
        assert connection.execute(asked).scalar_one() == 1


@pytest.mark.parametrize(
    ("damage", "said"),
    [
        ("ALTER TABLE event NO FORCE ROW LEVEL SECURITY", "event has no forced"),
        ("ALTER TABLE event DISABLE ROW LEVEL SECURITY", "event has no forced"),
        ("DROP POLICY reach ON event", "event has no policy"),
        ("CREATE TABLE newcomer (location_id text)", "newcomer has no forced"),
        (f"GRANT UPDATE ON event TO {APP_ROLE}", "event can be changed"),
        (f"GRANT UPDATE (verdict) ON event TO {APP_ROLE}", "event can be changed"),
        ("ALTER TABLE event DISABLE TRIGGER event_no_change", "event can be changed"),
        (f"REVOKE SELECT ON event FROM {APP_ROLE}", "event is not granted"),
        # As an older version may have left it.
        (
            "CREATE OR REPLACE FUNCTION erase_listed(here text, by_place bigint) RETURNS void"
            " LANGUAGE plpgsql SECURITY DEFINER AS $$ BEGIN RETURN; END $$",
            "erase_listed is not",
        ),
    ],
)
def test_what_was_taken_out_of_the_wall_is_noticed_and_put_back(
    postgresql_server, spare, damage, said
):
    name, owner = spare
    with write(owner) as connection:
        connection.exec_driver_sql(damage)
    with read(owner) as connection:
        missing = wall.lacking(connection)
    assert any(said in one for one in missing)
    upgrade(postgresql_server, name)
    with read(owner) as connection:
        assert wall.lacking(connection) == []


def test_a_table_whose_rows_are_nobodys_stops_the_upgrade(postgresql_server, spare):
    name, owner = spare
    with write(owner) as connection:
        connection.exec_driver_sql("CREATE TABLE newcomer (x text)")
    with pytest.raises(BadInput, match="newcomer has no policy") as raised:
        upgrade(postgresql_server, name)
    assert raised.value.code == "database_wall"


def test_what_happened_cannot_be_changed_by_its_owner_either(spare):
    _, owner = spare
    with write(owner) as connection:
        for table in tables.metadata.sorted_tables:
            if table.name == "location" or table.name in tables.APPEND_ONLY:
                connection.execute(insert(table).values(row_of(table, "b")))
    for name in tables.APPEND_ONLY:
        for statement in (
            f"UPDATE {name} SET location_id = 'b'",
            f"DELETE FROM {name}",
            f"TRUNCATE {name}",
        ):
            with pytest.raises(DBAPIError, match="append-only"), write(owner) as connection:
                connection.exec_driver_sql(statement)


def test_who_may_not_be_let_in_is_said_in_words(postgresql_server):
    name = postgresql_server.new_empty()
    postgresql_server.run("CREATE ROLE stranger LOGIN")
    with pytest.raises(BadInput, match="GRANT dosebook_app") as raised:
        run.upgrade(
            postgresql_server.url(name, as_role="stranger"),
            owner_url=postgresql_server.url(name, as_role=OWNER),
        )
    assert raised.value.code == "database_wall"

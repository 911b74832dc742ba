"""What PostgreSQL gets beside the tables, made after every upgrade and for every table there is.

The application runs as a role that owns nothing. It may add to append-only tables and never change
them (by grant, and by trigger for whoever owns them). Row-level security shows it the rows of the
locations that its transaction named, and holds for the tables' owner too. Texts are compared byte
by byte and whole numbers have 64 bits, as in SQLite. ``lacking`` says what of that is not so.
"""

from sqlalchemy import Connection, text

from api.errors import BadInput
from api.migrations import erasing
from api.storage.engine import DBAPIError, savepoint
from api.storage.postgresql import APP_ROLE, REACH_SETTING
from api.storage.tables import APPEND_ONLY

POLICY = "reach"
_NAMED = f"(SELECT current_setting('{REACH_SETTING}', true))"
_EVERYWHERE = f"{_NAMED} = '*'"
# Asked once for a statement and not once for a row, which is what the inner SELECT is for.
_HERE = f"location_id = ANY ((SELECT string_to_array({_NAMED}, ','))::text[])"

# Tables whose rows name no location, and what decides about each of them.
BY_ANOTHER = {
    # A nonce belongs to the tablet that is to sign it.
    "challenge": "EXISTS (SELECT FROM tablet WHERE tablet.tablet_id = challenge.tablet_id)",
}
# Tables whose rows belong to no location at all, and why that is so.
SHARED = {
    "asked": "how often an address asked, counted before anybody knows who it is",
    "practice": "the practices that a group server follows, looked up before it is known which",
    "group_code": "one-time codes of a group server, which lead to no location yet",
}
# Not ours: read by the program, written by Alembic.
ALEMBIC = "alembic_version"


def build(connection: Connection, *, login: str | None) -> None:
    """Make it all, as the owner, inside the transaction of the upgrade.

    ``login`` is the role with which the application connects, where that is another one.
    """
    _make_role(connection, login)
    _run(connection, "REVOKE CREATE ON SCHEMA public FROM PUBLIC")
    _run(connection, f"GRANT USAGE ON SCHEMA public TO {APP_ROLE}")
    _run(connection, f"GRANT SELECT ON {ALEMBIC} TO {APP_ROLE}")
    _run(connection, erasing.refusal())
    tables = _tables(connection)
    for table in tables:
        # A column that a policy names cannot change its type.
        _run(connection, f"DROP POLICY IF EXISTS {POLICY} ON {table}")
    for table in tables:
        _set_forms(connection, table)
    # Written anew with every push and read with every pull, each time as a whole: to press it takes
    # longer than to store it.
    _run(connection, "ALTER TABLE document ALTER COLUMN body SET STORAGE EXTERNAL")
    for table, columns in tables.items():
        _grant(connection, table)
        _wall_in(connection, table, "location_id" in columns)
        if table in APPEND_ONLY:
            _keep(connection, table)
    erasing.build(connection)


def lacking(connection: Connection) -> list[str]:
    """Return what is missing, a sentence each; empty where all is as it should be."""
    if not _is_there(connection, APP_ROLE):
        return [f"there is no role {APP_ROLE}"]
    found = []
    strong = text("SELECT rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = :name")
    if connection.execute(strong, {"name": APP_ROLE}).scalar_one():
        found.append(f"role {APP_ROLE} must be NOSUPERUSER and NOBYPASSRLS")
    for row in connection.execute(_STATE, {"role": APP_ROLE, "policy": POLICY}).mappings():
        name = row["table_name"]
        if row["owner"] == APP_ROLE:
            found.append(f"{name} is owned by the application's role")
        if not (row["enabled"] and row["forced"]):
            found.append(f"{name} has no forced row-level security")
        if not row["policy"]:
            found.append(
                f"{name} has no policy for reading and writing; its rows name no location, so"
                " BY_ANOTHER or SHARED must say who may have them"
            )
        if not row["may_read"]:
            found.append(f"{name} is not granted to the application's role")
        if name in APPEND_ONLY and (row["may_change"] or row["triggers"] < 2):
            found.append(f"{name} can be changed, and is append-only")
    if not erasing.is_current(connection):
        found.append("erase_listed is not the function of this version: erasing may let go of less")
    return found


def _run(connection: Connection, statement: str) -> None:
    connection.exec_driver_sql(statement)


def _is_there(connection: Connection, role: str) -> bool:
    asked = text("SELECT count(*) FROM pg_roles WHERE rolname = :name")
    return connection.execute(asked, {"name": role}).scalar_one() == 1


def _make_role(connection: Connection, login: str | None) -> None:
    try:
        with savepoint(connection):
            if not _is_there(connection, APP_ROLE):
                _run(connection, f"CREATE ROLE {APP_ROLE} NOLOGIN NOINHERIT")
                # Who makes a role may give it away, and from version 16 on not yet take it on.
                _run(connection, f"GRANT {APP_ROLE} TO CURRENT_USER")
            if login is not None and not _is_member(connection, login):
                _run(connection, f"GRANT {APP_ROLE} TO {_quoted(connection, login)}")
    except DBAPIError as problem:
        # Needs CREATEROLE; without it, whoever runs the server does it beforehand.
        raise BadInput(
            "database_wall",
            f"the server's administrator has to say once: CREATE ROLE {APP_ROLE} NOLOGIN; and"
            f" GRANT {APP_ROLE} TO the roles that upgrade and that serve; see DEVELOPERS.md",
            field="DATABASE_URL",
        ) from problem


def _is_member(connection: Connection, login: str) -> bool:
    asked = text("SELECT pg_has_role(cast(:name AS text), :role, 'MEMBER')")
    return connection.execute(asked, {"name": login, "role": APP_ROLE}).scalar_one()


def _quoted(connection: Connection, name: str) -> str:
    return connection.dialect.identifier_preparer.quote_identifier(name)


def _tables(connection: Connection) -> dict[str, set[str]]:
    rows = connection.execute(
        text(
            "SELECT t.table_name, c.column_name FROM information_schema.tables AS t"
            " JOIN information_schema.columns AS c USING (table_schema, table_name)"
            " WHERE t.table_schema = 'public' AND t.table_type = 'BASE TABLE'"
            " AND t.table_name <> :alembic ORDER BY 1, 2"
        ),
        {"alembic": ALEMBIC},
    )
    found: dict[str, set[str]] = {}
    for row in rows:
        found.setdefault(row.table_name, set()).add(row.column_name)
    return found


def _set_forms(connection: Connection, table: str) -> None:
    rows = connection.execute(
        text(
            "SELECT column_name, data_type FROM information_schema.columns"
            " WHERE table_schema = 'public' AND table_name = :name AND (data_type = 'integer'"
            " OR (data_type = 'text' AND collation_name IS DISTINCT FROM 'C'))"
        ),
        {"name": table},
    )
    forms = {"integer": "bigint", "text": 'text COLLATE "C"'}
    changes = [f"ALTER {row.column_name} TYPE {forms[row.data_type]}" for row in rows]
    if changes:
        _run(connection, f"ALTER TABLE {table} {', '.join(changes)}")


def _grant(connection: Connection, table: str) -> None:
    _run(connection, f"REVOKE ALL ON {table} FROM PUBLIC, {APP_ROLE}")
    rights = "SELECT, INSERT" if table in APPEND_ONLY else "SELECT, INSERT, UPDATE, DELETE"
    _run(connection, f"GRANT {rights} ON {table} TO {APP_ROLE}")
    sequences = connection.execute(
        text(
            "SELECT s.relname FROM pg_class AS s"
            " JOIN pg_depend AS d ON d.objid = s.oid AND d.deptype IN ('a', 'i')"
            " WHERE s.relkind = 'S' AND d.refobjid = cast(:name AS regclass)"
        ),
        {"name": table},
    )
    for sequence in sequences.scalars().all():
        _run(connection, f"ALTER SEQUENCE {sequence} AS bigint")
        # SELECT is what pg_dump asks for: a backup needs no other role than serving.
        _run(connection, f"GRANT USAGE, SELECT ON SEQUENCE {sequence} TO {APP_ROLE}")


def _wall_in(connection: Connection, table: str, names_location: bool) -> None:
    _run(connection, f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY")
    if names_location:
        allowed = f"{_EVERYWHERE} OR {_HERE}"
    elif table in BY_ANOTHER:
        allowed = f"{_EVERYWHERE} OR {BY_ANOTHER[table]}"
    elif table in SHARED:
        allowed = "true"
    else:
        # Nobody has said whose rows these are: nobody gets any.
        return
    _run(
        connection,
        f"CREATE POLICY {POLICY} ON {table} FOR ALL TO PUBLIC"
        f" USING ({allowed}) WITH CHECK ({allowed})",
    )


def _keep(connection: Connection, table: str) -> None:
    for name, when in (
        ("no_change", "BEFORE UPDATE OR DELETE ON {} FOR EACH ROW"),
        ("no_truncate", "BEFORE TRUNCATE ON {} FOR EACH STATEMENT"),
    ):
        _run(
            connection,
            f"CREATE OR REPLACE TRIGGER {table}_{name} {when.format(table)}"
            " EXECUTE FUNCTION refuse_change()",
        )


_STATE = text(
    """
    SELECT t.relname AS table_name, pg_get_userbyid(t.relowner) AS owner,
           t.relrowsecurity AS enabled, t.relforcerowsecurity AS forced,
           EXISTS (SELECT FROM pg_policy AS p WHERE p.polrelid = t.oid AND p.polname = :policy
                   AND p.polcmd = '*' AND p.polqual IS NOT NULL AND p.polwithcheck IS NOT NULL)
               AS policy,
           has_table_privilege(:role, t.oid, 'SELECT') AS may_read,
           has_table_privilege(:role, t.oid, 'DELETE, TRUNCATE')
               OR has_any_column_privilege(:role, t.oid, 'UPDATE') AS may_change,
           (SELECT count(*) FROM pg_trigger AS g WHERE g.tgrelid = t.oid AND NOT g.tgisinternal
                AND g.tgenabled = 'O' AND g.tgfoid = to_regproc('refuse_change')) AS triggers
    FROM pg_class AS t
    WHERE t.relkind IN ('r', 'p') AND t.relnamespace = 'public'::regnamespace
          AND t.relname <> 'alembic_version'
    ORDER BY 1
    """
)

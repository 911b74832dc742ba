"""What lets go of the content of an entry that the log says is erased, and of nothing else.

A payload, a paper or a photograph is deleted only where table ``erased`` lists it under the place
of an entry ``retention.erased``; and such a payload or paper is not written a second time,
whoever hands it in again.
"""

from collections.abc import Mapping

from alembic import op
from sqlalchemy import Connection, text

from api.storage.postgresql import APP_ROLE, REACH_SETTING

ERASED_TYPE = "retention.erased"
# Of each table that lets go: its kind in ``erased``, and under which name a row stands there.
LETS_GO: Mapping[str, tuple[str, str]] = {
    "payload": ("payload", "{row}.event_id"),
    "rendering": ("rendering", "{row}.record_id || '/' || {row}.version || '/' || {row}.kind"),
    "attachment": ("attachment", "{row}.sha256"),
}
# What must not come again: a payload by its event, and any paper of the record.
STAYS_AWAY: Mapping[str, tuple[str, str]] = {
    "payload": ("payload", "{row}.event_id"),
    "rendering": ("record", "{row}.record_id"),
}

_AT_ITS_PLACE = "e.by_position = by_place"
# A photograph may have come again for another entry: what is left and names it keeps it, also what
# was put aside. As ``storage/erased.take_away`` has it for SQLite.
_UNNAMED = (
    "NOT EXISTS (SELECT 1 FROM public.attachment_use AS u"
    " WHERE u.location_id = here AND u.sha256 = t.sha256)"
    " AND NOT EXISTS (SELECT 1 FROM public.event AS v JOIN public.payload AS p"
    " ON p.location_id = v.location_id AND p.event_id = v.event_id"
    " WHERE v.location_id = here AND v.verdict = 'quarantined' AND v.type = 'attachment.added'"
    " AND strpos(p.payload, t.sha256) > 0)"
)


# At a group the order may stand in another history of the same practice's same location.
_OF_ONE_LOG = (
    " AND (erased.by_location IS NULL OR EXISTS (SELECT 1 FROM followed AS f"
    " JOIN followed AS g ON g.practice_id = f.practice_id AND g.of_location = f.of_location"
    " WHERE f.location_id = erased.location_id AND g.location_id = erased.by_location))"
)


def listed(row: str, kind: str, what: str, *, beside: bool = True) -> str:
    """Return the condition that a row, named ``row`` in a trigger, is listed by the log.

    ``beside``: also by an order in another history of the same log, which a database before
    revision 0021 knows nothing of.
    """
    ordered_in = "coalesce(erased.by_location, erased.location_id)"
    return (
        "EXISTS (SELECT 1 FROM erased JOIN event ON event.location_id ="
        f" {ordered_in if beside else 'erased.location_id'}"
        f" AND event.position = erased.by_position AND event.type = '{ERASED_TYPE}'"
        " AND event.verdict = 'applied'"
        f" WHERE erased.location_id = {row}.location_id AND erased.kind = '{kind}'"
        f" AND erased.what = {what.format(row=row)}{_OF_ONE_LOG if beside else ''})"
    )


def let_go_on_sqlite() -> None:
    """Put triggers that let go of what is listed in the place of those that refuse all."""
    _make_on_sqlite(beside=False)


def let_go_beside_on_sqlite() -> None:
    """Put those in their place that also heed an order in another history of the same log."""
    if op.get_bind().dialect.name == "sqlite":
        for table in STAYS_AWAY:
            op.execute(f"DROP TRIGGER {table}_stays_away")
    _make_on_sqlite(beside=True)


def _make_on_sqlite(*, beside: bool) -> None:
    if op.get_bind().dialect.name != "sqlite":
        return
    for table, (kind, what) in LETS_GO.items():
        op.execute(f"DROP TRIGGER {table}_no_delete")
        op.execute(
            f"CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table}"
            f" WHEN NOT {listed('OLD', kind, what, beside=beside)}"
            f" BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
        )
    for table, (kind, what) in STAYS_AWAY.items():
        op.execute(
            f"CREATE TRIGGER {table}_stays_away BEFORE INSERT ON {table}"
            f" WHEN {listed('NEW', kind, what, beside=beside)} BEGIN SELECT RAISE(IGNORE); END"
        )


def refusal() -> str:
    """Return the function that every append-only table's trigger calls on PostgreSQL."""
    exceptions = "".join(
        f" IF TG_OP = 'DELETE' AND TG_TABLE_NAME = '{table}' THEN"
        f" IF {listed('OLD', kind, what)} THEN RETURN OLD; END IF; END IF;"
        for table, (kind, what) in LETS_GO.items()
    )
    return (
        "CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$"
        f" BEGIN{exceptions} RAISE EXCEPTION USING ERRCODE = 'integrity_constraint_violation',"
        " MESSAGE = TG_TABLE_NAME || ' is append-only'; END $$"
    )


def _erase_listed() -> str:
    deletions = "".join(
        f" DELETE FROM public.{table} AS t USING public.erased AS e"
        f" WHERE e.location_id = here AND {_AT_ITS_PLACE if table != 'attachment' else _UNNAMED}"
        f" AND e.kind = '{kind}' AND t.location_id = here AND e.what = {what.format(row='t')};"
        for table, (kind, what) in LETS_GO.items()
    )
    return (
        f" DECLARE reach text := coalesce(current_setting('{REACH_SETTING}', true), '');"
        " BEGIN"
        # An owner who is a superuser is held back by no policy.
        " IF reach <> '*' AND NOT here = ANY (string_to_array(reach, ',')) THEN"
        " RAISE EXCEPTION USING ERRCODE = 'insufficient_privilege',"
        " MESSAGE = 'this location is out of reach'; END IF;"
        f"{deletions} END "
    )


def is_current(connection: Connection) -> bool:
    """Return whether the function that erases stands as this version makes it, on PostgreSQL."""
    asked = text(
        "SELECT prosrc, prosecdef FROM pg_proc"
        " WHERE proname = 'erase_listed' AND pronamespace = 'public'::regnamespace"
    )
    found = connection.execute(asked).all()
    return [tuple(row) for row in found] == [(_erase_listed(), True)]


def build(connection: Connection) -> None:
    """Make the one function through which the application's role erases, on PostgreSQL."""
    connection.exec_driver_sql(
        # With the rights of the tables' owner: the application's role may delete none of this.
        "CREATE OR REPLACE FUNCTION erase_listed(here text, by_place bigint) RETURNS void"
        " LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp"
        f" AS $${_erase_listed()}$$"
    )
    connection.exec_driver_sql("REVOKE ALL ON FUNCTION erase_listed(text, bigint) FROM PUBLIC")
    connection.exec_driver_sql(
        f"GRANT EXECUTE ON FUNCTION erase_listed(text, bigint) TO {APP_ROLE}"
    )
    for table, (kind, what) in STAYS_AWAY.items():
        connection.exec_driver_sql(
            f"CREATE OR REPLACE FUNCTION keep_{table}_away() RETURNS trigger LANGUAGE plpgsql AS $$"
            # Asked of every row that comes in: nearly always the first question is the last.
            f" BEGIN IF EXISTS (SELECT 1 FROM erased WHERE location_id = NEW.location_id"
            f" AND kind = '{kind}' AND what = {what.format(row='NEW')}) THEN"
            f" IF {listed('NEW', kind, what)} THEN RETURN NULL; END IF; END IF;"
            " RETURN NEW; END $$"
        )
        connection.exec_driver_sql(
            f"CREATE OR REPLACE TRIGGER {table}_stays_away BEFORE INSERT ON {table}"
            f" FOR EACH ROW EXECUTE FUNCTION keep_{table}_away()"
        )

"""Commands of the tablets: a code for a new one, the list, shutting one out."""

import argparse
import os

from api.commands.common import DONE, as_json, command, group, open_database, print_json
from api.errors import BadInput
from api.settings import Settings

LONGEST_CODE_MINUTES = 24 * 60
TABLET_COLUMNS = (
    "tablet_id",
    "location_id",
    "label",
    "enrolled_at",
    "revoked_at",
    "last_seen_at",
)


def add(commands) -> None:
    """Add these commands to ``commands``."""
    tablets = group(commands, "tablet", "the tablets")
    code = command(tablets, "code", _tablet_code, "make a code to enrol one tablet with")
    where = code.add_mutually_exclusive_group()
    where.add_argument("--location", metavar="ID", help="not needed where there is only one")
    where.add_argument("--each", action="store_true", help="one code for each location there is")
    code.add_argument("--valid-minutes", type=int, default=10, metavar="N")
    as_json(code)
    as_json(command(tablets, "list", _tablet_list, "list the enrolled tablets"))
    revoke = command(tablets, "revoke", _tablet_revoke, "shut a lost tablet out, at once")
    revoke.add_argument("tablet_id", metavar="TABLET")
    revoke.add_argument("--reason", default="Revoked on the server", metavar="TEXT")


def _tablet_code(options: argparse.Namespace) -> int:
    from datetime import timedelta

    from api.clock import SystemClock
    from api.people import tablets
    from api.storage import readers
    from api.storage.engine import write

    if not 1 <= options.valid_minutes <= LONGEST_CODE_MINUTES:
        raise BadInput("valid_minutes", f"--valid-minutes must be from 1 to {LONGEST_CODE_MINUTES}")
    with open_database(Settings.from_env()) as engine, write(engine) as connection:
        known = [row["location_id"] for row in readers.locations(connection)]
        wanted = known if options.each else _one_of(known, options.location)
        made = {
            _name(connection, location_id): tablets.make_code(
                connection,
                location_id=location_id,
                made_by=None,
                clock=SystemClock(),
                random=os.urandom,
                life=timedelta(minutes=options.valid_minutes),
            )
            for location_id in wanted
        }
    if options.json:
        print_json([*made.values()] if options.each else next(iter(made.values())))
        return DONE
    for name, one in made.items():
        at = f"{name}: " if options.each else ""
        print(f"{at}{one['code']}  (once, until {one['expires_at']})")
    return DONE


def _one_of(known: list[str], named: str | None) -> list[str]:
    location_id = named or (known[0] if len(known) == 1 else None)
    if location_id not in known:
        choices = ", ".join(known) or "none yet"
        raise BadInput("location", f"--location must be one of: {choices}")
    return [location_id]


def _name(connection, location_id: str) -> str:
    from api.storage import documents

    location = documents.get(connection, location_id, "location", location_id) or {}
    # Two locations of one name are told apart.
    return f"{location.get('name') or 'location'} ({location_id})"


def _tablet_list(options: argparse.Namespace) -> int:
    from api.storage import accounts, readers
    from api.storage.engine import read

    with open_database(Settings.from_env()) as engine, read(engine) as connection:
        found = [
            {name: row[name] for name in TABLET_COLUMNS}
            for location in readers.locations(connection)
            for row in accounts.tablets(connection, location["location_id"])
        ]
    if options.json:
        print_json(found)
        return DONE
    for row in found:
        state = f"revoked {row['revoked_at']}" if row["revoked_at"] else "enrolled"
        print(f"{row['tablet_id']}  {row['location_id']}  {state}  {row['label']}")
    return DONE


def _tablet_revoke(options: argparse.Namespace) -> int:
    from api.app import PROJECTORS
    from api.clock import SystemClock
    from api.errors import NotFound
    from api.storage import accounts
    from api.storage.engine import write
    from api.sync import house_tablets, server_key

    settings = Settings.from_env()
    with open_database(settings) as engine, write(engine) as connection:
        row = accounts.tablet_by_id(connection, options.tablet_id)
        if row is None:
            raise NotFound("tablet_unknown", "There is no such tablet.")
        doing = house_tablets.Doing(
            connection=connection,
            clock=SystemClock(),
            server_key=server_key.load(settings.server_key_path),
            projectors=PROJECTORS,
            random=os.urandom,
            location_id=row["location_id"],
            actor_id=None,
        )
        house_tablets.revoke(doing, tablet_id=options.tablet_id, reason=options.reason)
    print(f"{options.tablet_id} is shut out; it may only hand in what it still holds")
    return DONE

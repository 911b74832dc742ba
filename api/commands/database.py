"""Commands of the database: its tables, and what is derived from the log."""

import argparse

from api.commands.common import DONE, command, group, open_database, say
from api.settings import Settings


def add(commands) -> None:
    """Add these commands to ``commands``."""
    databases = group(commands, "db", "the database")
    command(
        databases, "upgrade", _db_upgrade, "make its tables, or upgrade them and what they hold"
    )
    command(databases, "rebuild", _db_rebuild, "make what is derived from the log anew")


def _db_upgrade(_options: argparse.Namespace) -> int:
    from functools import partial

    from api.app import PROJECTORS
    from api.migrations.run import upgrade
    from api.sync.rebuild import rebuild

    settings = Settings.from_env()
    # Documents of an older version lack what this one reads.
    revision = upgrade(
        settings.database_url,
        owner_url=settings.database_owner_url,
        lifted=partial(rebuild, projectors=PROJECTORS),
    )
    say(f"database at revision {revision}")
    return DONE


def _db_rebuild(_options: argparse.Namespace) -> int:
    from api.app import PROJECTORS
    from api.storage.engine import write
    from api.sync.rebuild import rebuild

    with open_database(Settings.from_env()) as engine, write(engine) as connection:
        records = rebuild(connection, projectors=PROJECTORS)
    print(f"{records} records and all registers made anew")
    return DONE

"""Commands about what was erased: listing it, keeping the list, writing the files anew."""

import argparse
from pathlib import Path

from api.commands.common import DONE, as_json, command, group, open_database, print_json, say
from api.settings import Settings


def add(commands) -> None:
    """Add these commands to ``commands``."""
    erasures = group(commands, "erasures", "what was erased of records")
    as_json(command(erasures, "list", _list, "say which records were erased, when and why"))
    keep = command(
        erasures, "keep", _keep, "write the list down beside every backup that can be reached"
    )
    keep.add_argument("folder", nargs="?", metavar="FOLDER", help="a further folder for it")
    command(
        erasures,
        "purge",
        _purge,
        "write the database's files anew, so that no erased byte is left in them",
    )


def _list(options: argparse.Namespace) -> int:
    from api.storage import documents, erased, readers
    from api.storage.engine import read

    with open_database(Settings.from_env()) as engine, read(engine) as connection:
        found = [
            {"location_id": row["location_id"], "record_id": one["record_id"], **one["erased"]}
            for row in readers.locations(connection)
            for one in documents.list(connection, row["location_id"], erased.KIND)
            if one["erased"] is not None
        ]
    if options.json:
        print_json(found)
        return DONE
    for one in found:
        print(
            f"record {one['record_id']}: erased {one['at']} by the entry at {one['position']}, "
            f"{one['basis']}, {one['citation']}"
        )
    print(f"{len(found)} records erased")
    return DONE


def _keep(options: argparse.Namespace) -> int:
    from api.backup import erasures
    from api.commands.common import DOES_NOT_HOLD
    from api.sync import server_key

    settings = Settings.from_env()
    also = Path(options.folder).resolve() if options.folder else None
    with open_database(settings) as engine:
        signer = server_key.load(settings.server_key_path)
        missing = erasures.keep(settings, engine, signer, also=also)
    for file in missing:
        say(f"{file} could not be written.")
    return DOES_NOT_HOLD if missing else DONE


def _purge(_options: argparse.Namespace) -> int:
    from api.clock import SystemClock
    from api.work import runner

    settings = Settings.from_env()
    with open_database(settings) as engine:
        runner.purge_all(engine, SystemClock(), owner_url=settings.database_owner_url)
    print("The files hold nothing any more of what was erased")
    return DONE

"""Commands of a group server: codes for practices, which it follows, which history counts."""

import argparse
import os

from api.commands.common import (
    DOES_NOT_HOLD,
    DONE,
    as_json,
    command,
    group,
    open_database,
    print_json,
    say,
)
from api.errors import BadInput
from api.settings import Settings

LONGEST_CODE_MINUTES = 24 * 60


def add(commands) -> None:
    """Add these commands to ``commands``."""
    under = group(commands, "group", "a server that follows several practices")
    code = command(under, "code", _code, "make a code by which one practice joins")
    restore = command(
        under, "restore-code", _restore_code, "make a code by which a practice gets its log back"
    )
    restore.add_argument("practice_id", metavar="PRACTICE")
    for one in (code, restore):
        one.add_argument("--valid-minutes", type=int, default=60, metavar="N")
        as_json(one)
    as_json(command(under, "list", _list, "list the practices and how far their logs are here"))
    revoke = command(under, "revoke", _revoke, "follow a practice no more; what is here stays")
    revoke.add_argument("practice_id", metavar="PRACTICE")
    settle = command(under, "settle", _settle, "say which of two histories of a log counts")
    settle.add_argument("log_id", metavar="LOG", help="its id in `dosebook group list`")


def _code(options: argparse.Namespace) -> int:
    return _make(options, purpose="join", practice_id=None)


def _restore_code(options: argparse.Namespace) -> int:
    say("It opens nothing without that practice's recovery key. Give it to its own people only.")
    return _make(options, purpose="restore", practice_id=options.practice_id)


def _make(options: argparse.Namespace, *, purpose: str, practice_id: str | None) -> int:
    from datetime import timedelta

    from api.clock import SystemClock
    from api.group import joining
    from api.storage.engine import write
    from api.sync import server_key

    if not 1 <= options.valid_minutes <= LONGEST_CODE_MINUTES:
        raise BadInput("valid_minutes", f"--valid-minutes must be from 1 to {LONGEST_CODE_MINUTES}")
    settings = Settings.from_env()
    with open_database(settings) as engine, write(engine) as connection:
        made = joining.make_code(
            connection,
            SystemClock(),
            os.urandom,
            server_key.load_or_create(settings.server_key_path),
            purpose=purpose,
            practice_id=practice_id,
            life=timedelta(minutes=options.valid_minutes),
        )
    if options.json:
        print_json(made)
    else:
        print(made["code"])
    return DONE


def _list(options: argparse.Namespace) -> int:
    from api.group import joining
    from api.storage.engine import read

    with open_database(Settings.from_env()) as engine, read(engine) as connection:
        found = joining.listed(connection)
    if options.json:
        print_json({"practices": found})
        return DONE
    for one in found:
        ended = f", no longer followed since {one['revoked_at']}" if one["revoked_at"] else ""
        print(f"{one['practice_id']}  {one['name']}  key {one['key']}{ended}")
        for log in one["logs"]:
            parted = f", parted after entry {log['from_position']}" if log["from_location"] else ""
            print(
                f"  {log['location_id']}  {log['state']}, {log['position']} entries, "
                f"last came {log['received_at'] or 'never'}{parted}"
            )
    return DONE


def _revoke(options: argparse.Namespace) -> int:
    from api.clock import SystemClock
    from api.group import joining
    from api.storage.engine import write

    with open_database(Settings.from_env()) as engine, write(engine) as connection:
        joining.revoke(connection, options.practice_id, now=SystemClock().now())
    print("It is followed no more. What it sent stays here.")
    return DONE


def _settle(options: argparse.Namespace) -> int:
    from api.app import PROJECTORS
    from api.group import taking
    from api.storage import followed
    from api.storage.engine import write

    with open_database(Settings.from_env()) as engine, write(engine) as connection:
        history = followed.get(connection, options.log_id)
        if history is None:
            raise BadInput("log_unknown", "There is no such log of a practice.")
        taking.put_in_force(connection, history, PROJECTORS)
        unprojected = followed.get(connection, options.log_id)["unprojected"]
    print("It counts from now on. The others of this location are kept, set aside.")
    if unprojected:
        say("Not all of it could be worked out: `dosebook db rebuild` does it once it can be.")
        return DOES_NOT_HOLD
    return DONE

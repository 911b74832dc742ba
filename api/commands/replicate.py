"""Commands of a practice that a group follows: joining, replicating, how far it is, leaving."""

import argparse
import os

from api.commands.common import (
    DOES_NOT_HOLD,
    DONE,
    as_json,
    open_database,
    print_json,
    progress_of,
    say,
)
from api.settings import Settings


def add(commands) -> None:
    """Add these commands to ``commands``."""
    words = "bring the group that follows this practice up to date, until stopped"
    replicate = commands.add_parser("replicate", help=words, description=words)
    replicate.set_defaults(run=_run)
    replicate.add_argument("--once", action="store_true", help="make one contact and end")
    as_json(replicate)
    under = replicate.add_subparsers(metavar="COMMAND")
    join = under.add_parser("join", help="let a group follow this practice, by its code")
    join.set_defaults(run=_join)
    join.add_argument("address", metavar="ADDRESS", help="such as https://group.example")
    join.add_argument("code", metavar="CODE", help="from `dosebook group code` at the group")
    status = under.add_parser("status", help="say how far behind the group is")
    status.set_defaults(run=_status)
    as_json(status)
    leave = under.add_parser("leave", help="let no group follow this practice any more")
    leave.set_defaults(run=_leave)


def _run(options: argparse.Namespace) -> int:
    import signal
    import threading

    from api.app import PROJECTORS
    from api.clock import SystemClock
    from api.group import link
    from api.work.replication import Replication

    settings = Settings.from_env()
    link.needed(settings)
    with open_database(settings) as engine:
        work = Replication(settings, engine, SystemClock(), projectors=PROJECTORS)
        if options.once:
            with progress_of("entries at the group") as progress:
                done = work.once(progress)
            if options.json:
                print_json(done)
            else:
                print(f"The group is up to date; {done['sent']} entries were sent.")
                if done["photographs"]:
                    print(f"{done['photographs']} photographs were sent as well.")
                if done["offered"]:
                    say("The group offers something new: Practice, Group at a desk shows it.")
            return DONE
        stop = threading.Event()
        for name in (signal.SIGTERM, signal.SIGINT):
            signal.signal(name, lambda *_: stop.set())
        work.run_forever(stop)
    return DONE


def _join(options: argparse.Namespace) -> int:
    from api.backup import group_key
    from api.clock import SystemClock
    from api.group import client, joined, words
    from api.sync import server_key

    settings = Settings.from_env()
    address = client.check_address(options.address)
    # Without it the practice's key could not be left there, and half of what this is for is gone.
    group_key.recovery_public(settings)
    with open_database(settings) as engine:
        link = joined.join(
            settings,
            engine,
            SystemClock(),
            os.urandom,
            server_key.load(settings.server_key_path),
            send=client.over_http(address),
            address=address,
            code=options.code,
        )
    print(
        f"The group at {link.address} follows {link.name} from now on.\n"
        f"Its key: {words.fingerprint(link.group_key)}\n"
        "`dosebook work` and `dosebook replicate` bring it up to date."
    )
    return DONE


def _status(options: argparse.Namespace) -> int:
    from api.clock import SystemClock
    from api.group import link as links
    from api.group import status
    from api.storage import replication
    from api.storage.engine import read

    settings = Settings.from_env()
    link = links.needed(settings)
    now = SystemClock().now()
    with open_database(settings) as engine, read(engine) as connection:
        lags = replication.lags(connection)
    lags = [{**one, "late": status.is_late(one, now)} for one in lags]
    if options.json:
        print_json({"address": link.address, "practice_id": link.practice_id, "locations": lags})
    else:
        print(f"Group: {link.address}")
        for one in lags:
            problem = f", problem: {one['problem']}" if one["problem"] else ""
            print(
                f"Location {one['location_id']}: {one['position']} of {one['log_position']} "
                f"entries at the group, {one['photographs_waiting']} photographs not there yet, "
                f"last contact {one['contact_at'] or 'never'}{problem}"
            )
    if any(one["late"] for one in lags):
        say("Entries or photographs have waited for more than three days.")
        return DOES_NOT_HOLD
    return DONE


def _leave(_options: argparse.Namespace) -> int:
    from api.group import link as links

    settings = Settings.from_env()
    link = links.needed(settings)
    links.drop(settings)
    print(f"The group at {link.address} is sent nothing more. What it holds, it keeps.")
    return DONE

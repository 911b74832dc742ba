"""Commands of the demo practice."""

import argparse

from api.commands.common import DONE, command, group, open_database, progress_of
from api.settings import Settings


def add(commands) -> None:
    """Add these commands to ``commands``."""
    load = command(
        group(commands, "demo", "the demo practice"), "load", _demo_load, "load it, once"
    )
    load.add_argument(
        "--one-location", action="store_true", help="leave the practice's second location out"
    )


def _demo_load(options: argparse.Namespace) -> int:
    from dataclasses import replace
    from functools import partial

    from api.app import PROJECTORS, create_app
    from api.clock import SystemClock
    from api.demo import play
    from api.work import runner

    # Played in this process without TLS, where a browser would not hand back a secure cookie.
    settings = replace(Settings.from_env(), secure_cookies=False)
    with open_database(settings) as engine, progress_of("demo steps") as progress:
        answer = play.load(
            settings,
            engine=engine,
            open_app=lambda clock: create_app(settings, clock=clock),
            projectors=PROJECTORS,
            now=SystemClock().now(),
            work=partial(runner.run_once, origin=settings.origin),
            progress=progress,
            one_location=options.one_location,
        )
    already = "" if answer["loaded"] else " (was there already)"
    print(f"Demo practice {answer['location_name']}, location {answer['location_id']}{already}")
    here = answer["location_name"]
    for who in answer["sign_ins"]:
        if who["location"] != here:
            here = who["location"]
            print(f"At {here}, where one laser has failed its power check:")
        ways = []
        if who["pin"]:
            ways.append(f"tablet PIN {who['pin']}")
        if who["sign_in"]:
            ways.append(f"desk {who['sign_in']} / {who['password']}")
        print(f"  {who['name']}, {', '.join(who['roles'])}: {'; '.join(ways)}".replace("_", " "))
    return DONE

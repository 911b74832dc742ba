"""Commands of the demo practice."""

import argparse

from api.commands.common import DONE, command, group, open_database, progress_of
from api.settings import Settings


def add(commands) -> None:
    """Add these commands to ``commands``."""
    command(group(commands, "demo", "the demo practice"), "load", _demo_load, "load it, once")


def _demo_load(_options: argparse.Namespace) -> int:
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
        )
    already = "" if answer["loaded"] else " (was there already)"
    print(f"Demo practice {answer['location_name']}, location {answer['location_id']}{already}")
    for who in answer["sign_ins"]:
        ways = []
        if who["pin"]:
            ways.append(f"tablet PIN {who['pin']}")
        if who["sign_in"]:
            ways.append(f"desk {who['sign_in']} / {who['password']}")
        print(f"  {who['name']}, {', '.join(who['roles'])}: {'; '.join(ways)}".replace("_", " "))
    return DONE

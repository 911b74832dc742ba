"""Commands of the people: the first administrator."""

import argparse
import os
import sys

from api.commands.backup import first_recovery_key, told
from api.commands.common import DONE, as_json, command, group, open_database, print_json
from api.errors import BadInput
from api.settings import Settings

# What is asked for where it is not given as an option, and under which name it is kept.
_ADMIN_ASKED = {
    "name": ("display_name", "the administrator's name"),
    "initials": ("initials", "their initials"),
    "practice": ("practice_name", "the practice's name (first start)"),
    "location": ("name", "the location's name (first start)"),
    "zone": ("zone", "its time zone, such as Europe/Lisbon (first start)"),
}


def add(commands) -> None:
    """Add these commands to ``commands``."""
    admin = command(
        group(commands, "user", "the people"),
        "create-admin",
        _create_admin,
        "register an administrator and print the link at which they set a password",
    )
    for option, (_, words) in _ADMIN_ASKED.items():
        admin.add_argument(f"--{option}", metavar="TEXT", help=words)
    admin.add_argument(
        "--location-id", metavar="ID", help="needed only where there are several locations"
    )
    as_json(admin)


def _create_admin(options: argparse.Namespace) -> int:
    from api.app import PROJECTORS
    from api.clock import SystemClock
    from api.sync import first_start, server_key

    settings = Settings.from_env()
    with open_database(settings) as engine:
        known = first_start.locations(engine)
        ids = [one["location_id"] for one in known]
        place = options.location_id or (ids[0] if len(ids) == 1 else None)
        if known and place not in ids:
            raise BadInput("location", f"--location-id must be one of: {', '.join(ids)}")
        if known and (options.practice or options.location or options.zone):
            raise BadInput(
                "location",
                "There is a location already: leave --practice, --location and --zone out.",
            )
        said = {
            name: _asked(options, option)
            for option, (name, _) in _ADMIN_ASKED.items()
            if not known or name in ("display_name", "initials")
        }
        made = first_start.create_admin(
            engine,
            SystemClock(),
            server_key.load_or_create(settings.server_key_path),
            location_id=place if known else None,
            opening=None
            if known
            else {name: said[name] for name in ("practice_name", "name", "zone")},
            display_name=said["display_name"],
            initials=said["initials"],
            projectors=PROJECTORS,
            random=os.urandom,
        )
    origin = settings.origin or f"http://localhost:{os.environ.get('PORT') or '8080'}"
    link = origin + made["path"]
    # Whoever sets the practice up keeps it: without it no backup could hold the server's own key.
    words = first_recovery_key(settings)
    if options.json:
        print_json({**made, "link": link, **({"recovery_key": words} if words else {})})
        return DONE
    print(f"Set the password at (once, until {made['expires_at']}):\n{link}")
    if words is not None:
        print(f"\n{told(words)}")
    return DONE


def _asked(options: argparse.Namespace, option: str) -> str:
    given = getattr(options, option)
    if given is None and sys.stdin.isatty():
        given = input(f"{_ADMIN_ASKED[option][1]}: ")
    if not (given or "").strip():
        raise BadInput("not_said", f"--{option} must say {_ADMIN_ASKED[option][1]}")
    return given

"""The command `dosebook`: serve, work, load the demo, upgrade, compute, verify, enrol."""

import argparse
import ipaddress
import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from api.errors import BadInput, DomainError
from api.settings import Settings

DONE, DOES_NOT_HOLD, BAD_USAGE = 0, 1, 2
LONGEST_CODE_MINUTES = 24 * 60
TABLET_COLUMNS = (
    "tablet_id",
    "location_id",
    "label",
    "enrolled_at",
    "revoked_at",
    "last_seen_at",
)
GUNICORN_CONFIG = Path(__file__).resolve().parent.parent / "deploy" / "gunicorn.conf.py"


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit code: 0 done, 1 does not hold, 2 bad usage or input."""
    options = _parser().parse_args(arguments)
    try:
        return options.run(options)
    except BadInput as problem:
        _say(problem.message)
        return BAD_USAGE
    except DomainError as problem:
        _say(problem.message)
        return DOES_NOT_HOLD
    except BrokenPipeError:
        # Whoever read our output has gone; Python must not complain once more at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except KeyboardInterrupt:
        return DONE
    except Exception as problem:
        from api.storage.engine import DBAPIError

        if not isinstance(problem, DBAPIError):
            raise
        _say("The database cannot be used. Has `dosebook db upgrade` run?")
        return DOES_NOT_HOLD


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="dosebook", description="Dose, record and safety log for dental CO2 laser surgery."
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    def command(under, name: str, run: Callable[[argparse.Namespace], int], words: str):
        made = under.add_parser(name, help=words, description=words)
        made.set_defaults(run=run)
        return made

    def group(name: str, words: str):
        made = commands.add_parser(name, help=words, description=words)
        return made.add_subparsers(required=True, metavar="COMMAND")

    command(commands, "serve", _serve, "serve the interface and the pages (PORT, HOST)")
    command(commands, "work", _work, "make renderings and other slow work, until stopped")
    command(group("demo", "the demo practice"), "load", _demo_load, "load it, once")
    databases = group("db", "the database")
    command(
        databases, "upgrade", _db_upgrade, "make its tables, or upgrade them and what they hold"
    )
    command(databases, "rebuild", _db_rebuild, "make what is derived from the log anew")
    dose = command(commands, "dose", _dose, "evaluate a dose request: JSON in, JSON out")
    dose.add_argument("source", choices=["-"], help="- for standard input")
    dose.add_argument("--table", action="store_true", help="lines for people instead of JSON")
    hazard = command(commands, "hazard", _hazard, "evaluate a hazard request: JSON in, JSON out")
    hazard.add_argument("source", choices=["-"], help="- for standard input")
    hazard.add_argument("--table", action="store_true", help="lines for people instead of JSON")
    heat = command(commands, "heat", _heat, "simulate heat in tissue: JSON in, JSON out")
    heat.add_argument("source", choices=["-"], help="- for standard input")
    verify = command(
        group("log", "the log of events"), "verify", _log_verify, "check every link and signature"
    )
    verify.add_argument("--json", action="store_true", help="one JSON object for machines")
    tablets = group("tablet", "the tablets")
    code = command(tablets, "code", _tablet_code, "make a code to enrol one tablet with")
    code.add_argument("--location", metavar="ID", help="not needed where there is only one")
    code.add_argument("--valid-minutes", type=int, default=10, metavar="N")
    code.add_argument("--json", action="store_true", help="one JSON object for machines")
    listing = command(tablets, "list", _tablet_list, "list the enrolled tablets")
    listing.add_argument("--json", action="store_true", help="one JSON object for machines")
    revoke = command(tablets, "revoke", _tablet_revoke, "shut a lost tablet out, at once")
    revoke.add_argument("tablet_id", metavar="TABLET")
    revoke.add_argument("--reason", default="Revoked on the server", metavar="TEXT")
    admin = command(
        group("user", "the people"),
        "create-admin",
        _create_admin,
        "register an administrator and print the link at which they set a password",
    )
    for option, (_, words) in _ADMIN_ASKED.items():
        admin.add_argument(f"--{option}", metavar="TEXT", help=words)
    admin.add_argument(
        "--location-id", metavar="ID", help="needed only where there are several locations"
    )
    admin.add_argument("--json", action="store_true", help="one JSON object for machines")
    return parser


def _say(text: str) -> None:
    print(text, file=sys.stderr)


def _print_json(value: object) -> None:
    print(json.dumps(value, ensure_ascii=False))


@contextmanager
def _engine(settings: Settings) -> Iterator:
    """Yield the database's engine, closed afterwards."""
    from api.storage.engine import EVERYWHERE, open_engine

    # Whoever may run a command on the server's machine is in charge of every location there.
    engine = open_engine(settings.database_url, reach=EVERYWHERE)
    try:
        yield engine
    finally:
        engine.dispose()


@contextmanager
def _progress(words: str) -> Iterator[Callable[[int, int], None]]:
    """Yield a function taking (done, of): a bar on a terminal, else one plain line."""
    if sys.stderr.isatty():
        from tqdm import tqdm

        with tqdm(desc=words, unit="") as bar:

            def show(done: int, total: int) -> None:
                bar.total = total
                bar.update(done - bar.n)

            yield show
        return
    last = (0, 0)

    def keep(done: int, total: int) -> None:
        nonlocal last
        last = (done, total)

    yield keep
    _say(f"{words}: {last[0]} of {last[1]}")


def check_host(host: str, *, secure_cookies: bool) -> None:
    """Raise ``BadInput`` where passwords would go over a network in the clear.

    TLS ends in a proxy before this server; whoever sets it up says so by the setting.
    """
    try:
        near = ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        near = host == "localhost"
    if not near and not secure_cookies:
        raise BadInput(
            "tls_needed",
            f"HOST={host} is reached from elsewhere: put a proxy with TLS before this server, and "
            "set DOSEBOOK_SECURE_COOKIES=1",
        )


def _serve(_options: argparse.Namespace) -> int:
    settings = Settings.from_env()  # a missing setting is told here, not by every worker
    check_host(os.environ.get("HOST", "127.0.0.1"), secure_cookies=settings.secure_cookies)
    command = [sys.executable, "-m", "gunicorn", "-c", str(GUNICORN_CONFIG), "api.wsgi:application"]
    # In place of this process, so that stopping it stops the server.
    os.execv(command[0], command)


def _answered(respond: Callable[[Any], dict], show: Callable[[dict], None]) -> int:
    """Answer the request on standard input; a bad one is refused as the interface would."""
    from api.web.blueprint import read_json
    from api.web.problems import document

    try:
        answer = respond(read_json(sys.stdin.buffer.read()))
    except DomainError as problem:
        _say(json.dumps(document(problem), ensure_ascii=False))
        return BAD_USAGE
    show(answer)
    return DONE


def _dose(options: argparse.Namespace) -> int:
    from api.dose import evaluate
    from api.dose.table import as_lines

    def show_lines(answer: dict) -> None:
        print("\n".join(as_lines(answer)))

    return _answered(evaluate.respond, show_lines if options.table else _print_json)


def _hazard(options: argparse.Namespace) -> int:
    from api.dose.hazard import evaluate
    from api.dose.hazard.table import as_lines

    def show_lines(answer: dict) -> None:
        print("\n".join(as_lines(answer)))

    return _answered(evaluate.respond, show_lines if options.table else _print_json)


def _heat(_options: argparse.Namespace) -> int:
    from api.dose import heat

    return _answered(heat.respond, _print_json)


def _work(_options: argparse.Namespace) -> int:
    import signal
    import threading

    from api.clock import SystemClock
    from api.work import runner

    stop = threading.Event()
    for name in (signal.SIGTERM, signal.SIGINT):
        signal.signal(name, lambda *_: stop.set())
    with _engine(Settings.from_env()) as engine:
        runner.run_forever(engine, SystemClock(), stop)
    return DONE


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
    _say(f"database at revision {revision}")
    return DONE


def _db_rebuild(_options: argparse.Namespace) -> int:
    from api.app import PROJECTORS
    from api.storage.engine import write
    from api.sync.rebuild import rebuild

    with _engine(Settings.from_env()) as engine, write(engine) as connection:
        records = rebuild(connection, projectors=PROJECTORS)
    print(f"{records} records and all registers made anew")
    return DONE


def _log_verify(options: argparse.Namespace) -> int:
    from api.audit.verify import verify_log

    with _engine(Settings.from_env()) as engine, _progress("entries checked") as progress:
        report = verify_log(engine, progress=progress)
    if options.json:
        _print_json(report)
    bad = report["first_bad"]
    if bad is not None:
        _say(
            f"location {bad['location_id']}: position {bad['position']} does not hold "
            f"({bad['reason']})"
        )
        return DOES_NOT_HOLD
    if not options.json:
        print(f"{report['entries']} entries hold")
    return DONE


def _tablet_code(options: argparse.Namespace) -> int:
    from datetime import timedelta

    from api.clock import SystemClock
    from api.people import tablets
    from api.storage import readers
    from api.storage.engine import write

    if not 1 <= options.valid_minutes <= LONGEST_CODE_MINUTES:
        raise BadInput("valid_minutes", f"--valid-minutes must be from 1 to {LONGEST_CODE_MINUTES}")
    with _engine(Settings.from_env()) as engine, write(engine) as connection:
        known = [row["location_id"] for row in readers.locations(connection)]
        location_id = options.location or (known[0] if len(known) == 1 else None)
        if location_id not in known:
            choices = ", ".join(known) or "none yet"
            raise BadInput("location", f"--location must be one of: {choices}")
        made = tablets.make_code(
            connection,
            location_id=location_id,
            made_by=None,
            clock=SystemClock(),
            random=os.urandom,
            life=timedelta(minutes=options.valid_minutes),
        )
    if options.json:
        _print_json(made)
    else:
        print(f"{made['code']}  (once, until {made['expires_at']})")
    return DONE


def _tablet_list(options: argparse.Namespace) -> int:
    from api.storage import accounts, readers
    from api.storage.engine import read

    with _engine(Settings.from_env()) as engine, read(engine) as connection:
        found = [
            {name: row[name] for name in TABLET_COLUMNS}
            for location in readers.locations(connection)
            for row in accounts.tablets(connection, location["location_id"])
        ]
    if options.json:
        _print_json(found)
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
    with _engine(settings) as engine, write(engine) as connection:
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


def _create_admin(options: argparse.Namespace) -> int:
    from api.app import PROJECTORS
    from api.clock import SystemClock
    from api.sync import first_start, server_key

    settings = Settings.from_env()
    with _engine(settings) as engine:
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
    if options.json:
        _print_json({**made, "link": link})
        return DONE
    print(f"Set the password at (once, until {made['expires_at']}):\n{link}")
    return DONE


# What is asked for where it is not given as an option, and under which name it is kept.
_ADMIN_ASKED = {
    "name": ("display_name", "the administrator's name"),
    "initials": ("initials", "their initials"),
    "practice": ("practice_name", "the practice's name (first start)"),
    "location": ("name", "the location's name (first start)"),
    "zone": ("zone", "its time zone, such as Europe/Lisbon (first start)"),
}


def _asked(options: argparse.Namespace, option: str) -> str:
    given = getattr(options, option)
    if given is None and sys.stdin.isatty():
        given = input(f"{_ADMIN_ASKED[option][1]}: ")
    if not (given or "").strip():
        raise BadInput("not_said", f"--{option} must say {_ADMIN_ASKED[option][1]}")
    return given


def _demo_load(_options: argparse.Namespace) -> int:
    from dataclasses import replace

    from api.app import PROJECTORS, create_app
    from api.clock import SystemClock
    from api.demo import play
    from api.work import runner

    # Played in this process without TLS, where a browser would not hand back a secure cookie.
    settings = replace(Settings.from_env(), secure_cookies=False)
    with _engine(settings) as engine, _progress("demo steps") as progress:
        answer = play.load(
            settings,
            engine=engine,
            open_app=lambda clock: create_app(settings, clock=clock),
            projectors=PROJECTORS,
            now=SystemClock().now(),
            work=runner.run_once,
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

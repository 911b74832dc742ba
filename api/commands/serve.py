"""Commands that run until they are stopped: the server and its slow work."""

import argparse
import ipaddress
import os
import sys
from pathlib import Path

from api.commands.common import DONE, command, open_database
from api.errors import BadInput
from api.settings import Settings

GUNICORN_CONFIG = Path(__file__).resolve().parents[2] / "deploy" / "gunicorn.conf.py"


def add(commands) -> None:
    """Add these commands to ``commands``."""
    command(commands, "serve", _serve, "serve the interface and the pages (PORT, HOST)")
    command(commands, "work", _work, "make renderings and other slow work, until stopped")


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


def _work(_options: argparse.Namespace) -> int:
    import signal
    import threading

    from api.app import PROJECTORS
    from api.clock import SystemClock
    from api.work import backups, replication, runner

    stop = threading.Event()
    for name in (signal.SIGTERM, signal.SIGINT):
        signal.signal(name, lambda *_: stop.set())
    settings = Settings.from_env()
    with open_database(settings) as engine:
        if settings.backups_dir is not None:
            # Beside the jobs: a large copy must not keep a paper from being made.
            timer = backups.Timer(settings, engine, SystemClock())
            threading.Thread(target=timer.run_forever, args=(stop,), daemon=True).start()
        # Whether a group follows this practice is looked at anew each time: one may join any day.
        group = replication.Replication(settings, engine, SystemClock(), projectors=PROJECTORS)
        threading.Thread(target=group.run_forever, args=(stop,), daemon=True).start()
        runner.run_forever(engine, SystemClock(), stop, origin=settings.origin)
    return DONE

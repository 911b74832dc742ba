"""Commands of the log of events."""

import argparse

from api.commands.common import (
    DOES_NOT_HOLD,
    DONE,
    as_json,
    command,
    group,
    open_database,
    print_json,
    progress_of,
    say,
)
from api.commands.log_proof import add_to
from api.settings import Settings


def add(commands) -> None:
    """Add these commands to ``commands``."""
    logs = group(commands, "log", "the log of events")
    as_json(command(logs, "verify", _log_verify, "check every link and signature"))
    add_to(logs)


def _log_verify(options: argparse.Namespace) -> int:
    from api.audit.verify import verify_log

    with open_database(Settings.from_env()) as engine, progress_of("entries checked") as progress:
        report = verify_log(engine, progress=progress)
    if options.json:
        print_json(report)
    bad = report["first_bad"]
    if bad is not None:
        say(
            f"location {bad['location_id']}: position {bad['position']} does not hold "
            f"({bad['reason']}{_remembered(bad)})"
        )
        return DOES_NOT_HOLD
    if not options.json:
        for each in report["locations"]:
            for gone in each["erased"]:
                by = f" of {gone['by_location']}" if "by_location" in gone else ""
                print(f"position {gone['position']}: erased by {gone['by_position']}{by}")
        print(f"{report['entries']} entries hold")
    return DONE


def _remembered(bad: dict) -> str:
    """Return whose memory it contradicts, and how far that agrees, where that is what was found."""
    if "agreed_position" not in bad:
        return ""
    whose = f" of tablet {bad['tablet_id']}" if bad["tablet_id"] else ""
    return f"{whose}; up to position {bad['agreed_position']} they agree"

"""The command that gets a practice's log back from the group that follows it."""

import argparse
import os
from collections.abc import Callable

from api.commands.common import DONE, print_json, print_restored, progress_of
from api.errors import BadInput
from api.settings import Settings

_ASKED = {
    "code": "the group's code: --code CODE; `dosebook group restore-code` makes one there",
    "who": "who restores: --who NAME; it is written into the log",
    "why": "why: --why TEXT; it is written into the log",
}
AFTERWARDS = (
    "Start the server. Every tablet hands in by itself what it has written since then.\n"
    "Passwords and PINs were at the practice only: `dosebook user create-admin` registers somebody "
    "who makes links for the others.\n"
    "Photographs come back from no group. Look again at people who left and at tablets that were "
    "shut out. Make a backup at once: the group is none."
)


def run(options: argparse.Namespace, typed_key: Callable[[], str]) -> int:
    """Restore from the group at ``options.from_group``."""
    from api.app import PROJECTORS
    from api.backup import from_group
    from api.clock import SystemClock
    from api.group import client

    if options.folder:
        raise BadInput("not_both", "Restore from a folder or from the group, not from both.")
    for name in _ASKED:
        if not (getattr(options, name) or "").strip():
            raise BadInput("not_said", f"Say {_ASKED[name]}")
    address = client.check_address(options.from_group)
    with progress_of("entries from the group") as progress:
        done = from_group.restore(
            Settings.from_env(),
            SystemClock(),
            os.urandom,
            send=client.over_http(address),
            address=address,
            code=options.code,
            who=options.who.strip(),
            why=options.why.strip(),
            replace=options.replace,
            ask_recovery_key=typed_key,
            projectors=PROJECTORS,
            progress=progress,
            erased_in=options.erasures,
        )
    if options.json:
        print_json(done)
        return DONE
    print_restored(done, f"Restored {done['name']} from the group.", AFTERWARDS)
    return DONE

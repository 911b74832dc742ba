"""Commands that keep the practice's data safe: backups, the recovery key, restoring."""

import argparse
import os
import sys
from pathlib import Path

from api.commands import from_group
from api.commands.common import (
    DONE,
    as_json,
    command,
    group,
    open_database,
    print_json,
    print_restored,
    progress_of,
    say,
    there,
)
from api.errors import BadInput
from api.settings import Settings

KEEP_IT = (
    "Recovery key of this server. Write it on paper and keep it away from this machine: without it "
    "the server's own key cannot be taken out of a backup. It is shown this once and kept nowhere."
)


def add(commands) -> None:
    """Add these commands to ``commands``."""
    backup = command(
        commands, "backup", _backup, "copy everything while the server runs, and verify the copy"
    )
    backup.add_argument(
        "folder",
        nargs="?",
        metavar="FOLDER",
        help="where backups go, by default DOSEBOOK_BACKUPS, else `backups` in DOSEBOOK_DATA",
    )
    backup.add_argument(
        "--keep",
        metavar="N",
        type=int,
        help="then remove all of this server's backups in that folder but the N newest",
    )
    as_json(backup)
    check = command(commands, "backup-check", _check, "open a backup and verify it once more")
    check.add_argument("folder", metavar="FOLDER", help="the folder of one backup")
    keys = group(commands, "recovery-key", "the words that open the keys inside a backup")
    new = command(keys, "new", _new_key, "make another one and print it, once")
    new.add_argument(
        "--if-none", action="store_true", help="only where there is none yet (first start)"
    )
    command(keys, "check", _check_key, "say whether words on standard input are this server's key")
    restore = command(
        commands, "restore", _restore, "put a backup in place and go on from it (server stopped)"
    )
    restore.add_argument("folder", nargs="?", metavar="FOLDER", help="the folder of one backup")
    restore.add_argument("--who", metavar="NAME", help="who restores, for the log")
    restore.add_argument("--why", metavar="TEXT", help="why, for the log")
    restore.add_argument(
        "--replace",
        action="store_true",
        help="set a database that is there aside, under another name",
    )
    restore.add_argument(
        "--erasures",
        type=there,
        action="append",
        default=[],
        metavar="FILE",
        help="a further list of what was erased (erasures.jsonl), beside those found by themselves",
    )
    restore.add_argument(
        "--from-group",
        metavar="ADDRESS",
        help="in place of FOLDER, where server and backups are lost: the group's address",
    )
    restore.add_argument(
        "--code", metavar="CODE", help="from `dosebook group restore-code` at the group"
    )
    as_json(restore)


def first_recovery_key(settings: Settings) -> str | None:
    """Make a recovery key where there is none yet, and return its words."""
    from api.backup import keys

    return None if keys.recovery_public(settings) else _new_words(settings)


def told(words: str) -> str:
    """Return a recovery key as it is printed, with what to do with it."""
    return f"{KEEP_IT}\n\n{_indented(words)}\n"


def _new_words(settings: Settings) -> str:
    from api.backup import keys
    from api.clock import SystemClock

    return keys.new_recovery_key(settings, SystemClock(), os.urandom)


def _backup(options: argparse.Namespace) -> int:
    from api.backup import making, pruning
    from api.clock import SystemClock

    if options.keep is not None:
        pruning.check_keep(options.keep)
    settings = Settings.from_env()
    folder = (
        Path(options.folder).resolve()
        if options.folder
        else settings.backups_dir or settings.data_dir / "backups"
    )
    with open_database(settings) as engine, progress_of("entries checked in the copy") as progress:
        made = making.make(
            settings, engine, SystemClock(), os.urandom, folder=folder, progress=progress
        )
        removed = []
        if options.keep is not None:
            removed = pruning.prune(
                engine,
                SystemClock(),
                folder=folder,
                keep=options.keep,
                latest=made["backup_id"],
            )
    if options.json:
        print_json({**made, "removed": [str(each) for each in removed]})
        return DONE
    entries = sum(each["position"] for each in made["locations"])
    print(f"Verified backup with {entries} entries of the log: {made['path']}")
    for each in removed:
        print(f"Removed, because newer ones hold all that is in it: {each}")
    if made["same_disk"]:
        say("It lies on the same disk as the data: copy it to another one, or give a FOLDER there.")
    return DONE


def _check(options: argparse.Namespace) -> int:
    from api.backup import checking

    with progress_of("entries checked in the copy") as progress:
        said = checking.check(Path(options.folder).resolve(), progress=progress)
    entries = sum(each["position"] for each in said["locations"])
    print(f"This backup of {said['made_at']} holds, with {entries} entries of the log")
    return DONE


def _new_key(options: argparse.Namespace) -> int:
    from api.backup import keys

    settings = Settings.from_env()
    before = keys.recovery_public(settings)
    if before is not None and options.if_none:
        return DONE
    print(told(_new_words(settings)))
    if before is not None:
        say(
            f"Backups made since {before['made_at']} still open with the key before: keep it as "
            "long as them."
        )
    return DONE


def _check_key(_options: argparse.Namespace) -> int:
    from api.backup import keys
    from api.commands.common import DOES_NOT_HOLD

    settings = Settings.from_env()
    keys.needed_public(settings)
    if keys.is_right(settings, _typed_key()):
        print("This is the recovery key of this server")
        return DONE
    say("These words are a recovery key, and not this server's.")
    return DOES_NOT_HOLD


def _restore(options: argparse.Namespace) -> int:
    from api.app import PROJECTORS
    from api.backup import restoring
    from api.clock import SystemClock

    if options.from_group:
        return from_group.run(options, _typed_key)
    for name in ("folder", "who", "why"):
        if not (getattr(options, name) or "").strip():
            raise BadInput("not_said", f"Say {_RESTORE_ASKED[name]}")
    settings = Settings.from_env()
    with progress_of("entries checked") as progress:
        done = restoring.restore(
            settings,
            SystemClock(),
            os.urandom,
            folder=Path(options.folder).resolve(),
            who=options.who.strip(),
            why=options.why.strip(),
            replace=options.replace,
            ask_recovery_key=_typed_key,
            projectors=PROJECTORS,
            progress=progress,
            erased_in=options.erasures,
        )
    if options.json:
        print_json(done)
        return DONE
    print_restored(done, f"Restored from the backup of {done['made_at']}.", AFTERWARDS)
    return DONE


_RESTORE_ASKED = {
    "folder": "which backup: dosebook restore FOLDER --who NAME --why TEXT",
    "who": "who restores: --who NAME; it is written into the log",
    "why": "why: --why TEXT; it is written into the log",
}
AFTERWARDS = (
    "Start the server again. Every tablet hands in by itself what it has written since the backup; "
    "Practice, Backup at a desk shows what has come back.\n"
    "Nothing brings back what was done at a desk since then: look again at people who left, "
    "passwords, tablets that were shut out, and signed records that were put into charts. "
    "Everybody has to sign in again."
)


def _typed_key() -> str:
    from api.backup.recovery_key import WORD_COUNT

    if sys.stdin.isatty():
        say(f"Type the recovery key, {WORD_COUNT} words, and an empty line:")
    lines = []
    for line in sys.stdin:
        if not line.strip() and lines:
            break
        lines.append(line)
        if len(" ".join(lines).split()) >= WORD_COUNT:
            break
    return " ".join(lines)


def _indented(words: str) -> str:
    return "\n".join(f"    {line}" for line in words.splitlines())

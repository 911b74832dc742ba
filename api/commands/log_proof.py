"""Commands that make and check the proof of one record."""

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from api.commands.common import (
    DOES_NOT_HOLD,
    DONE,
    as_json,
    command,
    open_database,
    print_json,
    say,
)
from api.errors import BadInput, NotFound
from api.settings import Settings

LARGEST_FILE_BYTES = 256 * 1024 * 1024
CONTENT = {True: "is what was signed", False: "differs: see the record's flags", None: ""}


def add_to(logs) -> None:
    """Add these commands beside the others about the log."""
    prove = command(logs, "prove", _prove, "give the proof of one record: its place in the log")
    prove.add_argument("record", metavar="RECORD", help="the record's id, as on its paper")
    prove.add_argument("--location", metavar="ID", help="needed only where several have it")
    prove.add_argument(
        "--with-payloads",
        action="store_true",
        help="with what was recorded, patient and all; without it, only hashes of it",
    )
    prove.add_argument(
        "--to-head",
        action="store_true",
        help="up to the end of the log, to compare with a head remembered elsewhere",
    )
    prove.add_argument("--json", action="store_true", help="the proof itself, to keep as a file")
    check = command(
        logs, "check-proof", _check, "check such a file: needs no database and no server"
    )
    check.add_argument("file", metavar="FILE", help="the file, or - for standard input")
    check.add_argument(
        "--key",
        metavar="KEY",
        help="the server's public key, or its fingerprint, as you know it from the practice",
    )
    check.add_argument("--paper", metavar="FILE", help="a PDF or text said to be the record's")
    as_json(check)


def _prove(options: argparse.Namespace) -> int:
    from api.audit import proof, proof_check
    from api.clock import SystemClock
    from api.storage import readers
    from api.storage.engine import read
    from api.sync import server_key

    settings = Settings.from_env()
    key = server_key.load(settings.server_key_path)
    with open_database(settings) as engine, read(engine) as connection:
        found = readers.locations_of_record(connection, options.record)
        if options.location is not None:
            found = [each for each in found if each == options.location]
        if not found:
            raise NotFound("record_unknown", "There is no such record.")
        if len(found) > 1:
            raise BadInput("location_needed", f"Several have it; say which: {', '.join(found)}")
        made = proof.prove(
            connection,
            key,
            SystemClock(),
            location_id=found[0],
            record_id=options.record,
            payloads=options.with_payloads,
            to_head=options.to_head,
        )
    if options.json:
        print_json(made)
        return DONE
    return _tell(proof_check.check(made), made)


def _check(options: argparse.Namespace) -> int:
    from api.audit import proof_check

    proof = proof_check.read_proof(_text_of(options.file))
    key = options.key
    own = proof.get("server_public_key")
    if key is not None and isinstance(own, str) and key.lower() == proof_check.fingerprint(own):
        key = own
    paper = None if options.paper is None else _bytes_of(options.paper)
    report = proof_check.check(proof, server_key=key, paper=paper)
    if options.json:
        print_json(report)
        return DONE if report["holds"] else DOES_NOT_HOLD
    return _tell(report, proof)


def _tell(report: dict[str, Any], proof: dict[str, Any]) -> int:
    """Print what a proof shows, for people, and give the exit code."""
    print(f"record {report['record_id']} of location {report['location_id']}")
    own = [each for run in proof["runs"] for each in run["entries"] if "header" in each]
    for told, entry in zip(report["entries"], own, strict=False):
        print(f"position {told['position']}: {told['type']}, made {told['occurred_at']}")
        print(f"  event   {told['event_id']}, received {told['received_at']}")
        print(f"  header  {entry['header_hash']}")
        print(f"  body    {entry['body_hash']}")
        print(f"  payload {json.loads(entry['body'])['payload_hash']}")
        print(f"  link    {told['link']}")
    for each in report["erased"]:
        print(
            f"position {each['position']}: content erased by the entry at {each['by_position']},"
            f" {each['at']}, {each['basis']}, {each['citation']}"
        )
    for each in report["content_hashes"]:
        words = CONTENT[each["as_signed"]]
        print(f"content signed at position {each['position']}: {each['content_hash']} {words}")
    for head in report["heads"]:
        print(f"the server signed: position {head['position']}, link {head['link']}, {head['at']}")
    for paper in report["papers"]:
        print(f"paper, version {paper['version']}, {paper['kind']}: {paper['sha256']}")
    known = "given" if report["key_given"] else "from the proof itself: compare its fingerprint"
    print(f"server's key ({known}): {report['fingerprint']}")
    if not report["holds"]:
        at = "" if report["position"] is None else f"position {report['position']} "
        say(f"{at}does not hold ({report['reason']})")
        return DOES_NOT_HOLD
    if report["paper"] is not None:
        print(f"the paper is this record's, version {report['paper']['version']}")
    count = len(report["entries"])
    print(f"{count} entries hold: {report['signed']} signed, {report['certified']} by known keys")
    return DONE


def _text_of(name: str) -> str:
    try:
        return (sys.stdin.buffer.read() if name == "-" else _bytes_of(name)).decode("utf-8")
    except UnicodeDecodeError:
        raise BadInput("proof_unreadable", "This is no proof of a record: not UTF-8.") from None


def _bytes_of(name: str) -> bytes:
    path = Path(name)
    try:
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise BadInput("file_too_large", f"{name} is larger than a proof can be.")
        return path.read_bytes()
    except OSError as problem:
        raise BadInput("file_unreadable", f"{name}: {problem.strerror}") from None

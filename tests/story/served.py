"""What the server holds, read in its own database.

It is there once `acts.on_server` or `acts.all_sent` has come back: what the server takes of a
tablet, and what it makes of it, is one transaction. A desk's screen says what was answered.
"""

import json
import sqlite3
from pathlib import Path

from tests.story import acts
from tests.story.serving import Server


def rows(server: Server, query: str, *values: str) -> list[tuple]:
    """Ask the database of a served practice."""
    database = sqlite3.connect(Path(server.environment["DOSEBOOK_DATA"]) / "dosebook.sqlite3")
    try:
        return database.execute(query, values).fetchall()
    finally:
        database.close()


def documents(server: Server, kind: str) -> list[dict]:
    """Every document of a kind."""
    found = rows(server, "SELECT body FROM document WHERE kind = ?", kind)
    return [json.loads(text) for (text,) in found]


def served_record(server: Server, chart: str) -> dict:
    """The record as the server's projection has it."""
    found = documents(server, "record")
    return next(one for one in found if (one["patient"] or {}).get("chart_number") == chart)


def list_document(server: Server, kind: str) -> dict:
    """The list of a kind, with all its versions."""
    return next(one for one in documents(server, "list") if one["kind"] == kind)


def person_id(server: Server, key: str) -> str:
    """The id of the demo's member of staff with this key."""
    name = acts.person(key)["display_name"]
    found = documents(server, "person")
    return next(one["person_id"] for one in found if one["display_name"] == name)

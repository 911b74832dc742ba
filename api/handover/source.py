"""What a rendering is made from: one version of a record, the names in it, and its place."""

from collections.abc import Callable, Mapping

from api.errors import NotFound
from api.handover.pdf import render_pdf
from api.handover.text import render_text
from api.records.fold import fold
from api.storage import documents, readers
from api.storage.engine import Connection

PDF, TEXT = "pdf", "text"


def _text_bytes(record: Mapping, names: Mapping[str, Mapping], facts: Mapping) -> bytes:
    return render_text(record, names, facts).encode("utf-8", errors="replace")


RENDERERS: Mapping[str, Callable[[Mapping, Mapping, Mapping], bytes]] = {
    PDF: render_pdf,
    TEXT: _text_bytes,
}


def gather(
    connection: Connection, location_id: str, record_id: str, version: int
) -> tuple[dict, dict, dict]:
    """Return (record, names, facts) as the renderers take them.

    ``version`` 1 is the record as signed; each addendum makes the next. A job may run after
    further addenda have come in, so they are left out here. Raises ``NotFound`` for a version
    that the log does not (or not yet) hold.
    """
    entries = readers.record_entries(connection, location_id, record_id)
    record = fold(entries) if entries else None
    if record is None or record["sign_off"] is None or not 1 <= version <= record["version"]:
        raise NotFound("version_not_found", "there is no such version of this record")
    later = {addendum["event_id"] for addendum in record["addenda"][version - 1 :]}
    if later:
        record = fold([entry for entry in entries if entry["event_id"] not in later])
    made_by = (record["addenda"] or [record["sign_off"]])[-1]["event_id"]
    position = next(entry["position"] for entry in entries if entry["event_id"] == made_by)
    link = readers.link_at(connection, location_id, position)
    location = documents.get(connection, location_id, "location", location_id) or {}
    facts = {
        "position": position,
        "link": link.hex() if link else None,
        "practice_name": location.get("practice_name"),
        "location_name": location.get("name"),
        "zone": location.get("zone") or record["provenance"]["zone"],
    }
    people = documents.list(connection, location_id, "person")
    return record, {person["person_id"]: person for person in people}, facts

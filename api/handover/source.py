"""What a rendering is made from: one version of a record, the names in it, and its place."""

from collections.abc import Callable, Mapping

from api.errors import NotFound
from api.handover import phrases
from api.handover.pdf import render_pdf
from api.handover.text import render_text
from api.records import service
from api.records.departures import reason_under
from api.records.versions import at_version
from api.storage import documents, readers
from api.storage.engine import Connection

PDF, TEXT = "pdf", "text"
# Enough that nobody makes another entry to fit, few enough to type.
LINK_DIGITS = 16


def _text_bytes(record: Mapping, names: Mapping[str, Mapping], facts: Mapping) -> bytes:
    return render_text(record, names, facts).encode("utf-8", errors="replace")


RENDERERS: Mapping[str, Callable[[Mapping, Mapping, Mapping], bytes]] = {
    PDF: render_pdf,
    TEXT: _text_bytes,
}


def for_paper(record: Mapping) -> dict:
    """Return a record whose reasons name none of the other patients in whose charts it was."""

    def fit(entry: Mapping) -> dict:
        reason = reason_under(record, record["patient"], entry["reason"])
        return {**entry, "reason": phrases.NAMES_ANOTHER if reason is None else reason}

    voided = record["voided"]
    return {
        **record,
        "reattributions": [fit(one) for one in record["reattributions"]],
        "voided": None if voided is None else fit(voided),
    }


def proof_address(origin: str, record_id: str, version: int, link: str) -> str:
    """Return where the practice's server shows the proof of a record to who may read it.

    Behind the ``#``, which no browser sends: only an id and how the entry's link begins.
    """
    return f"{origin}/#/records/{record_id}/proof/{version}/{link[:LINK_DIGITS]}"


def gather(
    connection: Connection,
    location_id: str,
    record_id: str,
    version: int,
    *,
    origin: str | None = None,
) -> tuple[dict, dict, dict]:
    """Return (record, names, facts) as the renderers take them.

    ``origin`` is the address that people type for this server, where one is set.
    ``version`` 1 is the record as signed; each addendum, each move to another chart and the voiding
    make the next. A job may run after further ones have come in, so they are left out here. Raises
    ``NotFound`` for a version that the record does not (or not yet) have.
    """
    newest = documents.get(connection, location_id, "record", record_id)
    if newest is None or not 1 <= version <= newest["version"]:
        raise NotFound("version_not_found", "There is no such version of this record.")
    record = for_paper(at_version(newest, version))
    entry = readers.entry_by_event(connection, location_id, record["versions"][-1]["event_id"])
    link = readers.link_at(connection, location_id, entry["position"])
    location = documents.get(connection, location_id, "location", location_id) or {}
    facts = {
        "position": entry["position"],
        "link": link.hex(),
        "address": origin and proof_address(origin, record_id, version, link.hex()),
        "practice_name": location.get("practice_name"),
        "location_name": location.get("name"),
        "zone": location.get("zone") or record["provenance"]["zone"],
    }
    return record, service.people_of(connection, record), facts

"""Lasers, handpieces and power verifications as documents."""

from collections.abc import Mapping
from datetime import UTC
from decimal import Decimal
from typing import Any

from api.clock import parse_rfc3339, rfc3339
from api.devices import verification
from api.devices.service_proofs import made
from api.dose.quantity import NotAQuantity, to_si
from api.errors import BadInput
from api.storage import documents

EVENT_TYPES = ("device.registered", "handpiece.registered", "verification.recorded")


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put what an entry says about a laser, a handpiece or a check into its document."""
    body, location_id = entry["body"], entry["location_id"]
    kind, doc_id, event_id = body["type"].split(".")[0], body["entity_id"], body["event_id"]
    if kind == "verification":
        # Nothing takes a failed check back: said again under its id, it is another check.
        doc_id = documents.place_of(connection, location_id, kind, doc_id=doc_id, event_id=event_id)
    document = {
        **(entry["payload"] or {}),
        f"{kind}_id": doc_id,
        "status": "current",
        "event_id": event_id,
    }
    if kind != "verification":
        known = documents.get(connection, location_id, kind, doc_id)
        document |= _still_retired(known, body["occurred_at"])
    else:
        document |= _verification_facts(body, document)
        document |= made({**body, "received_at": entry["received_at"]})
    documents.put(connection, location_id, kind, doc_id, document, position=entry["position"])


def _still_retired(known: Mapping | None, at: str) -> dict:
    """Return what stays of a retirement: what was registered before it brings nothing back."""
    retired = (known or {}).get("retired")
    if retired is None or parse_rfc3339(retired["at"]) <= parse_rfc3339(at):
        return {}
    return {"status": "retired", "retired": retired}


def latest_verification(
    connection: Any, location_id: str, *, device_id: str, handpiece_id: str, mode: str
) -> dict | None:
    """Return the most recent check of just this laser, handpiece and mode, or None.

    It may be a failed one; ``verification.feeds_dose`` says whether it may feed a dose.
    """
    return verification.latest_verification(
        documents.list(connection, location_id, "verification"),
        device_id=device_id,
        handpiece_id=handpiece_id,
        mode=mode,
    )


def _verification_facts(body: Mapping, document: Mapping) -> dict:
    """Say when and by whom, and judge again: of all verdicts the most severe one stands."""
    readings = document.get("readings", ())
    flags = list(verification.remarks([len(one["measured"]) for one in readings]))
    stated = document.get("verdict", verification.FAIL)
    try:
        judged = verification.judge(
            ratio=document["ratio"], meter_uncertainty=document["meter_uncertainty"]
        )
        worked_out = verification.work_out(
            readings_w=[
                (_watts(one["expected_average_power"]), [_watts(text) for text in one["measured"]])
                for one in readings
            ],
            meter_uncertainty=document["meter_uncertainty"],
        )
    except (BadInput, KeyError, NotAQuantity):
        # What cannot be worked out from its own readings feeds no dose.
        flags.append("readings_unreadable")
        judged = verification.FAIL
    else:
        judged = verification.worst([judged, worked_out.verdict])
        if not verification.same_ratio(stated=document["ratio"], worked_out=worked_out.ratio):
            flags.append("ratio_differs")
            judged = verification.FAIL
    # What was stated may rightly be severer: a person saw more than the readings say.
    if verification.worst([stated, judged]) != stated:
        flags.append("verdict_differs")
    return {
        "verified_at": body["occurred_at"],
        "verified_utc": rfc3339(parse_rfc3339(body["occurred_at"]).astimezone(UTC)),
        "verified_by": body["actor_id"],
        "stated_verdict": stated,
        "verdict": verification.worst([stated, judged]),
        "flags": flags,
    }


def _watts(quantity: str) -> Decimal:
    return Decimal(repr(to_si(quantity, "W")))

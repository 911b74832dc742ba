"""The tables, as SQLAlchemy Core sees them. The migrations make them; a test holds both equal.

Times are text of one form and one offset (UTC), so that they sort as they are written. Hashes
and links are bytes. ``location_id`` stands on every row that belongs to a location.
"""

from api.storage.access_tables import access_log, access_subject
from api.storage.account_tables import (
    asked,
    attempt,
    ceremony,
    challenge,
    enrol_code,
    factor,
    idempotency_key,
    last_place,
    link,
    recovery_code,
    secret,
    tablet,
    token,
)
from api.storage.columns import metadata
from api.storage.copy_tables import (
    backup,
    followed,
    followed_head,
    followed_writer,
    group_code,
    group_photograph,
    practice,
    replication,
    to_come_back,
    witness,
)
from api.storage.file_tables import attachment, certificate, job, rendering
from api.storage.log_tables import erased, event, location, payload
from api.storage.projection_tables import (
    attachment_use,
    certificate_use,
    departure,
    document,
    handpiece_use,
    record_index,
)

__all__ = [
    "APPEND_ONLY",
    "access_log",
    "access_subject",
    "asked",
    "attachment",
    "attachment_use",
    "attempt",
    "backup",
    "ceremony",
    "certificate",
    "certificate_use",
    "challenge",
    "departure",
    "document",
    "enrol_code",
    "erased",
    "event",
    "factor",
    "followed",
    "followed_head",
    "followed_writer",
    "group_code",
    "group_photograph",
    "handpiece_use",
    "idempotency_key",
    "job",
    "last_place",
    "link",
    "location",
    "metadata",
    "payload",
    "practice",
    "record_index",
    "recovery_code",
    "rendering",
    "replication",
    "secret",
    "tablet",
    "to_come_back",
    "token",
    "witness",
]

APPEND_ONLY = (
    "event",
    "payload",
    "access_log",
    "access_subject",
    "rendering",
    "attachment",
    "certificate",
    "witness",
    "erased",
    "followed_head",
)

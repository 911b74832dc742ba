"""What the log comes to. Rebuilt freely."""

from sqlalchemy import Index, Table

from api.storage.columns import WHOLE, key, may, metadata, must

# The projections: what the log comes to. Rebuilt freely.
document = Table(
    "document",
    metadata,
    key("location_id"),
    key("kind"),
    key("doc_id"),
    must("feed"),
    must("position", WHOLE),
    must("body"),
    Index(None, "location_id", "feed", "position"),
)

record_index = Table(
    "record_index",
    metadata,
    key("location_id"),
    key("record_id"),
    must("status"),
    must("version", WHOLE),
    may("chart_number"),
    may("second_identifier"),
    may("procedure_text"),
    may("site"),
    may("operator_id"),
    may("operator_name"),
    may("device_id"),
    may("device_label"),
    may("started_at"),
    may("started_day"),
    may("started_utc"),
    may("ended_at"),
    may("signed_at"),
    may("signed_utc"),
    must("passes", WHOLE),
    may("placed_at"),
    must("position", WHOLE),
    must("flags"),
    may("placed_version", WHOLE),
    must("words"),
    Index(None, "location_id", "started_utc", "record_id"),
    Index(None, "location_id", "placed_at", "signed_utc"),
)

# What left a chart: a record moved to another number, or one made void.
departure = Table(
    "departure",
    metadata,
    key("location_id"),
    key("event_id"),
    must("record_id"),
    must("kind"),
    may("chart_number"),
    must("chart_words"),
    may("second_identifier"),
    must("at"),
    may("by_id"),
    may("by_name"),
    may("reason"),
    must("away", WHOLE),
    must("paper", WHOLE),
    may("removed_at"),
    Index(None, "location_id", "chart_words"),
    Index(None, "location_id", "record_id"),
)

# Which record used which handpiece: counted, never added to.
handpiece_use = Table(
    "handpiece_use",
    metadata,
    key("location_id"),
    key("record_id"),
    key("handpiece_id"),
    must("used_at"),
    Index(None, "location_id", "handpiece_id"),
)

# Which record names which photograph.
attachment_use = Table(
    "attachment_use",
    metadata,
    key("location_id"),
    key("sha256"),
    key("record_id"),
    Index(None, "location_id", "record_id"),
)

# Which piece of work or which meter names which certificate.
certificate_use = Table(
    "certificate_use",
    metadata,
    key("location_id"),
    key("sha256"),
    key("kind"),
    key("doc_id"),
)

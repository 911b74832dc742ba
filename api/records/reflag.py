"""Flags that the server finds again, once something that a record rests on has arrived late."""

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from api.storage import documents, record_index


def reflag(
    connection: Any,
    record: Mapping[str, Any],
    found: Sequence[Mapping[str, Any]],
    *,
    codes: Collection[str],
    position: int,
) -> None:
    """Put the flags ``found`` now in place of a record's own of these ``codes``; others stay.

    The record's document and its row in the index follow, at the ``position`` of the entry that
    brought it; nothing is written where nothing changes.
    """
    flags = [*(one for one in record["flags"] if one["code"] not in codes), *found]
    if flags == record["flags"]:
        return
    location_id, record_id = record["location_id"], record["record_id"]
    documents.put(
        connection,
        location_id,
        "record",
        record_id,
        {**record, "flags": flags},
        position=position,
        feed=documents.RECORDS,
    )
    summary = record_index.get(connection, location_id, record_id)
    in_index = sorted({one["code"] for one in flags})
    record_index.put(connection, location_id, {**(summary or {}), "flags": in_index})

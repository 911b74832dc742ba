"""Presets of a location: whether one may be published, what a file would do, what was used."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from api.errors import BadInput, Conflict, NotFound
from api.presets import check, exchange, files
from api.presets.row import Row
from api.presets.usage import usage
from api.storage import access, documents
from api.storage.engine import Connection

# Says of a person's roles whether they may publish presets.
MayPublish = Callable[[Iterable[str]], bool]


def house(connection: Connection, location_id: str, may_publish: MayPublish) -> exchange.House:
    """Return what a location has that a preset can refer to."""

    def by_id(kind: str) -> dict[str, Mapping[str, Any]]:
        found = documents.list(connection, location_id, kind)
        return {one[f"{kind}_id"]: one for one in found}

    people = by_id("person")
    return exchange.House(
        presets=by_id("preset"),
        devices=by_id("device"),
        handpieces=by_id("handpiece"),
        kinds=by_id("procedure_kind"),
        people={
            i: one
            for i, one in people.items()
            if one.get("left_at") is None and may_publish(one.get("roles") or ())
        },
    )


def check_publication(
    connection: Connection,
    *,
    location_id: str,
    preset_id: str,
    payload: Mapping[str, Any],
    corrects: str | None,
    may_publish: MayPublish,
) -> None:
    """Refuse, at a desk, a preset that its laser cannot do or that contradicts itself.

    What a tablet published without a network is kept as it came. Raises ``BadInput``
    preset_refused with the problems by field, and ``Conflict`` preset_withdrawn where the preset
    is withdrawn and the withdrawal is not the event that this one corrects.
    """
    known = house(connection, location_id, may_publish)
    document = known.presets.get(preset_id)
    withdrawn = (document or {}).get("withdrawn")
    if withdrawn is not None and corrects != withdrawn.get("event_id"):
        raise Conflict(
            "preset_withdrawn", f"This preset was withdrawn: {withdrawn['reason']}", **withdrawn
        )
    found = check.problems(
        payload,
        devices=known.devices,
        handpieces=known.handpieces,
        kinds=known.kinds,
        reviewers=known.people,
    )
    if found:
        raise BadInput("preset_refused", "This preset cannot be published.", errors=found)


def export(
    connection: Connection,
    *,
    location_id: str,
    form: str,
    may_publish: MayPublish,
    actor_id: str,
    now: datetime,
) -> str:
    """Return the presets in force as the text of a file, and note that they were exported."""
    rows = exchange.export_rows(house(connection, location_id, may_publish))
    access.note(
        connection,
        location_id=location_id,
        at=now,
        action="export",
        actor_id=actor_id,
        subject_kind="preset",
        detail={"format": form, "presets": len(rows)},
    )
    return files.write(rows, form)


def plan(
    connection: Connection,
    *,
    location_id: str,
    rows: Sequence[Row],
    may_publish: MayPublish,
    importer: str,
) -> list[exchange.Planned]:
    """Return what the rows of a file would do here."""
    return exchange.plan(rows, house(connection, location_id, may_publish), importer=importer)


def used_before(
    connection: Connection, *, location_id: str, procedure_kind_id: str
) -> dict[str, Any]:
    """Return :func:`api.presets.usage.usage` of this location's records. Raises ``NotFound``.

    It reads many records, so it must not keep writers waiting: :func:`note_usage` says that it was
    read.
    """
    if documents.get(connection, location_id, "procedure_kind", procedure_kind_id) is None:
        raise NotFound("procedure_kind_unknown", "There is no such kind of procedure.")
    records = documents.holding(
        connection, location_id, "record", field="procedure_kind_id", value=procedure_kind_id
    )
    return usage(records, procedure_kind_id=procedure_kind_id)


def note_usage(
    connection: Connection,
    *,
    location_id: str,
    procedure_kind_id: str,
    actor_id: str,
    now: datetime,
    tablet_id: str | None = None,
) -> None:
    """Write into the access log that it was read what a kind of procedure used."""
    access.note(
        connection,
        location_id=location_id,
        at=now,
        action="read",
        actor_id=actor_id,
        tablet_id=tablet_id,
        subject_kind="procedure_kind",
        subject_id=procedure_kind_id,
        detail={"usage": True},
    )

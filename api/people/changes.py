"""What a change of a person must not do, asked at a desk inside the change's own transaction."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from api.errors import BadInput, Conflict, NotAllowed, NotFound
from api.people import qualifications, rights, work
from api.storage import documents
from api.storage.engine import Connection

EVENT_TYPES = rights.ABOUT_PEOPLE


def check(
    connection: Connection,
    *,
    location_id: str,
    actor_id: str,
    type: str,
    person_id: str,
    payload: Mapping[str, Any],
    now: datetime,
) -> None:
    """Refuse a change of a person that nobody could want, or that this person may not make.

    Raises ``NotFound`` person_unknown; ``Conflict`` left_already or last_administrator;
    ``NotAllowed`` administrator_needed; ``BadInput`` with the field at fault.
    """
    person = documents.get(connection, location_id, "person", person_id)
    if type in qualifications.EVENT_TYPES:
        _check_qualification(connection, location_id, person, payload)
        return
    if type == "person.left":
        if person is None:
            raise NotFound("person_unknown", "There is no such person.")
        if person.get("left_at") is not None:
            raise Conflict("left_already", "This person's work here has ended already.")
        wanted: tuple[str, ...] = ()
    else:
        wanted = _roles(payload)
        if "auditor" in wanted:
            _check_end(payload, _today(connection, location_id, now))
    held = _current(connection, location_id, person, now)
    actor = documents.get(connection, location_id, "person", actor_id)
    if rights.KEEPER in (*held, *wanted) and rights.KEEPER not in _current(
        connection, location_id, actor, now
    ):
        raise NotAllowed(
            "administrator_needed",
            "Only an administrator makes, changes or takes away an administrator.",
        )
    if rights.KEEPER in held and rights.KEEPER not in wanted:
        _check_another(connection, location_id, person_id, now)


def _check_qualification(
    connection: Connection, location_id: str, person: Mapping | None, payload: Mapping[str, Any]
) -> None:
    if person is None:
        raise NotFound("person_unknown", "There is no such person.")
    named = {
        "device": [payload.get("device_id"), *(payload.get("device_ids") or ())],
        "procedure_kind": payload.get("procedure_kind_ids") or (),
    }
    for kind, ids in named.items():
        for each in ids:
            if each is not None and documents.get(connection, location_id, kind, each) is None:
                raise NotFound(f"{kind}_unknown", "One of these is not registered here.")
    issued, expires = payload.get("issued_on"), payload.get("expires_on")
    if issued and expires and expires < issued:
        raise BadInput(
            "expires_before_issued",
            "It cannot end before it was issued.",
            field="payload.expires_on",
        )


def _roles(payload: Mapping[str, Any]) -> tuple[str, ...]:
    wanted = tuple(payload["roles"])
    unknown = sorted(set(wanted) - set(rights.ROLES))
    if unknown:
        raise BadInput(
            "role_unknown", f"There is no role {', '.join(unknown)}.", field="payload.roles"
        )
    if not wanted:
        raise BadInput("role_missing", "Choose at least one role.", field="payload.roles")
    return wanted


def _check_end(payload: Mapping[str, Any], today: date) -> None:
    until = payload.get("auditor_until")
    if until is None:
        raise BadInput(
            "auditor_end_missing",
            "An auditor reads for a limited time: say through which day.",
            field="payload.auditor_until",
        )
    if date.fromisoformat(until) < today:
        raise BadInput("auditor_end_past", "This day is over.", field="payload.auditor_until")


def _check_another(connection: Connection, location_id: str, person_id: str, now: datetime) -> None:
    others = (
        one
        for one in documents.list(connection, location_id, "person")
        if one["person_id"] != person_id
    )
    if not any(rights.KEEPER in _current(connection, location_id, one, now) for one in others):
        raise Conflict(
            "last_administrator",
            "This is the last administrator here. Make somebody else one first.",
        )


def _current(
    connection: Connection, location_id: str, person: Mapping | None, now: datetime
) -> Iterable[str]:
    return () if person is None else work.roles_at(connection, location_id, person, now)


def _today(connection: Connection, location_id: str, now: datetime) -> date:
    return now.astimezone(work.zone_of(connection, location_id)).date()

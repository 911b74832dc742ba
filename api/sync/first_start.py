"""The first start of a practice: its first location, and an administrator without a password."""

from collections.abc import Callable

from api.clock import Clock
from api.errors import BadInput
from api.events import signing
from api.ids import new_id
from api.people import links
from api.storage import documents, followed, readers
from api.storage.engine import Connection, Engine, read, write
from api.sync import desk, judge

Random = Callable[[int], bytes]


def locations(engine: Engine) -> list[dict]:
    """Return the documents of the locations there are; a followed practice's are none of ours."""
    with read(engine) as connection:
        return [
            documents.get(connection, row["location_id"], "location", row["location_id"]) or row
            for row in readers.locations(connection)
            if followed.get(connection, row["location_id"]) is None
        ]


def create_admin(
    engine: Engine,
    clock: Clock,
    server_key: signing.PrivateKey,
    *,
    location_id: str | None,
    opening: dict | None,
    display_name: str,
    initials: str,
    projectors: judge.Projectors,
    random: Random,
) -> dict[str, str]:
    """Register an administrator and make their one-time link: see ``links.make_link``.

    ``location_id`` says where; None opens a location with ``opening``, {name, practice_name,
    zone}. No secret of theirs exists before the link is used. Raises ``BadInput`` by field.
    """
    _must_be_said(display_name=display_name, initials=initials, **(opening or {}))
    if location_id is None:
        location_id = desk.open_location(
            engine,
            clock,
            server_key,
            payload={**(opening or {}), "rooms": []},
            projectors=projectors,
            random=random,
        )["location_id"]
    with write(engine) as connection:
        person_id = new_id(clock.now(), random)
        desk.append_in(
            connection,
            clock,
            server_key,
            location_id=location_id,
            actor_id=None,
            type="person.registered",
            entity_id=person_id,
            payload={
                "display_name": display_name.strip(),
                "initials": initials.strip(),
                "roles": ["administrator"],
                "credential": None,
                "licence_expires": None,
            },
            projectors=projectors,
            zone=_zone_of(connection, location_id),
            random=random,
        )
        made = links.make_link(
            connection,
            location_id=location_id,
            person_id=person_id,
            purpose=links.FIRST,
            made_by=None,
            clock=clock,
            random=random,
        )
    return {**made, "location_id": location_id, "person_id": person_id}


def _zone_of(connection: Connection, location_id: str) -> str:
    location = documents.get(connection, location_id, "location", location_id) or {}
    return str(location.get("zone") or "UTC")


def _must_be_said(**said: str) -> None:
    empty = [name for name, text in said.items() if not str(text).strip()]
    if empty:
        raise BadInput(
            "not_said",
            f"Still to be said: {', '.join(empty)}.",
            errors={name: ["This must be said."] for name in empty},
        )

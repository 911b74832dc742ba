"""Where a person's password and second factors are kept, and who may have them set anew.

Roles and a PIN belong to a location; the password, with the second factors beside it, belongs to
the person and is kept at one of the locations where they work: it lets them in at all of them.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from api.errors import Conflict
from api.events import signing
from api.people import factors, links, work
from api.storage import places as stored
from api.storage import readers
from api.storage.engine import EVERYWHERE, Connection, Engine, read

Random = Callable[[int], bytes]


@dataclass(frozen=True)
class Home:
    """The location where the password is kept, and all that has to be in reach to change it."""

    location_id: str
    reach: tuple[str, ...]


def works(connection: Connection, person_id: str) -> dict[str, dict]:
    """Return the person's document by location, where they work; within the connection's reach."""
    found = {
        row["location_id"]: work.working_here(connection, row["location_id"], person_id)
        for row in readers.locations(connection)
    }
    return {location_id: person for location_id, person in found.items() if person is not None}


def home_of(engine: Engine, person_id: str, *, here: str) -> Home:
    """Return a person's home; without a password yet it is ``here``."""
    with read(engine, locations=EVERYWHERE) as connection:
        home = stored.password_at(connection, person_id) or here
        return Home(home, tuple(sorted({*works(connection, person_id), home, here})))


def start_at(connection: Connection, person_id: str, home: str, now: datetime) -> str | None:
    """Return where a sign-in begins: at the location last used, else at home, else anywhere.

    Where somebody has a role goes before where they have none any more. None for somebody who
    works nowhere. The connection reaches everywhere.
    """
    found = works(connection, person_id)
    able = [at for at, person in found.items() if work.roles_at(connection, at, person, now)]
    among = able or list(found)
    if not among:
        return None
    return stored.last_entered(connection, person_id, among) or (
        home if home in among else among[0]
    )


def must_not_be_anothers(connection: Connection, *, location_id: str, person_id: str) -> None:
    """Refuse to register here, as somebody new, whoever has this id at another location.

    One id is one person, and a password of theirs would open the other location as well: only
    ``elsewhere`` registers them here. Raises ``Conflict`` person_id_taken. The connection reaches
    everywhere.
    """
    having = [
        row["location_id"]
        for row in readers.locations(connection)
        if work.person_document(connection, row["location_id"], person_id) is not None
    ]
    if having and location_id not in having:
        raise Conflict("person_id_taken", "This id is taken. Begin with a new one.")


def may_set_password(
    connection: Connection, *, location_id: str, person_id: str, made_by: str | None, now: datetime
) -> bool:
    """Return whether a link that ``made_by`` made here may change the person's password.

    The password opens every location where the person works, so whoever makes the link must be
    allowed to make one at each of them. The connection reaches everywhere.
    """
    if made_by is None or made_by == person_id:
        return True
    for at, person in works(connection, person_id).items():
        if at == location_id:
            # Asked when the link was made.
            continue
        maker = work.working_here(connection, at, made_by)
        roles = () if maker is None else work.roles_at(connection, at, maker, now)
        if not links.may_make_for(roles, person):
            return False
    return True


def hand_on(
    connection: Connection,
    server_key: signing.PrivateKey,
    *,
    location_id: str,
    person_id: str,
    now: datetime,
    random: Random,
) -> None:
    """Before work ends here: let the password be kept where the person goes on working.

    Does nothing where it is kept elsewhere, or where they work nowhere else.
    """
    if stored.password_at(connection, person_id) != location_id:
        return
    others = [at for at in works(connection, person_id) if at != location_id]
    if others:
        stored.move_password(connection, location_id, others[0], person_id, now=now)
        factors.move(connection, server_key, location_id, others[0], person_id, random=random)

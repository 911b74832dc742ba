"""What the group's server works with, and whose history of a log is the one that is read."""

from collections.abc import Callable
from dataclasses import dataclass

from api.clock import Clock
from api.errors import Conflict
from api.events import signing
from api.storage import followed, readers
from api.storage.engine import Connection, Engine
from api.sync import judge

Random = Callable[[int], bytes]


@dataclass(frozen=True, kw_only=True)
class House:
    """What the group's server works with."""

    engine: Engine
    clock: Clock
    random: Random
    server_key: signing.PrivateKey
    projectors: judge.Projectors


def must_be_theirs(connection: Connection, practice_id: str, location_id: str) -> None:
    """Raise ``Conflict`` "location_of_other" for a location of ours or of another practice."""
    owner = followed.whose(connection, location_id)
    own = owner is None and readers.location_row(connection, location_id) is not None
    if own or owner not in (None, practice_id):
        raise Conflict("location_of_other", "This location is not this practice's.")

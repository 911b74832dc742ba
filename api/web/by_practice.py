"""Requests that a practice signs: checked over their bytes, before anything in them is read."""

from collections.abc import Callable, Mapping
from functools import wraps

from flask import g, request

from api.errors import NotSignedIn
from api.group import joining
from api.storage.engine import read
from api.web.context import context

# What none of the short requests needs half of: whoever asks is not known yet.
SMALL_BYTES = 16 << 10


def signed(view: Callable) -> Callable:
    """Let only a practice that is followed here ask; stands before what reads the body."""

    @wraps(view)
    def checked(*arguments, **named):
        g.practice = _known()
        return view(*arguments, **named)

    return checked


def practice() -> Mapping:
    """Return the practice that asks; only in a view that is ``signed``."""
    return g.practice


def _known() -> Mapping:
    house, headers = context(), request.headers
    names = ("Dosebook-Practice", "Dosebook-At", "Dosebook-Signature")
    practice_id, at, signature = (headers.get(name, "") for name in names)
    if not practice_id:
        raise NotSignedIn("practice_unknown", "This practice is not followed here.")
    with read(house.engine) as connection:
        return joining.known(
            connection,
            house.server_key,
            practice_id=practice_id,
            path=request.path,
            at=at,
            body=request.get_data(cache=True),
            signature=signature,
            now=house.clock.now(),
        )

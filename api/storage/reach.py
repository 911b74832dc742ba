"""Which locations a transaction may see and change.

PostgreSQL enforces it by row-level security; on SQLite, where one practice has one file, the same
code says it and nothing enforces it. Said once for each request (``api.web.auth``) and for each
command; a transaction may narrow its own (``engine.narrow``), which is how a token or a one-time
code, looked up before anybody knows where it belongs, leads to one location and no further.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar, Token

# The names of the locations, or every one there is: a command of the whole house, or a secret of
# which nobody knows yet whose it is.
Reach = Sequence[str]
EVERYWHERE: Reach = ("*",)
NOWHERE: Reach = ()

_said: ContextVar[Reach | None] = ContextVar("dosebook_reach", default=None)


def enter(reach: Reach) -> Token:
    """Let transactions of this thread reach ``reach`` until :func:`leave` is given the answer."""
    return _said.set(reach)


def leave(token: Token) -> None:
    """Go back to what held before."""
    _said.reset(token)


@contextmanager
def within(*reach: str) -> Iterator[None]:
    """Let transactions inside the block reach these locations."""
    token = enter(reach)
    try:
        yield
    finally:
        leave(token)


def now(otherwise: Reach) -> Reach:
    """Return what was said for this thread, or else ``otherwise``."""
    said = _said.get()
    return otherwise if said is None else said


def as_text(reach: Reach) -> str:
    """Return a reach as the database is told it: names with commas between.

    Raises ``ValueError`` for a name with a comma in it, which could pass for two.
    """
    if any("," in name for name in reach):
        raise ValueError("a location's name has no comma")
    return ",".join(reach)

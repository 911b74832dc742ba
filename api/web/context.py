"""What every view of one application shares, put together once by ``api.app``."""

from collections.abc import Callable
from dataclasses import dataclass, field

from flask import Flask, current_app

from api.clock import Clock
from api.events.signing import PrivateKey
from api.settings import Settings
from api.storage.engine import Engine
from api.sync.judge import Authorise, Projectors
from api.web.leases import Leases

_KEY = "dosebook"


@dataclass(frozen=True, kw_only=True)
class Context:
    """The parts a view may use: nothing in ``web`` reaches for a global.

    ``report_engine`` is for what may be some moments old: it may lead to a copy of the database.
    """

    settings: Settings
    engine: Engine
    report_engine: Engine
    clock: Clock
    random: Callable[[int], bytes]
    server_key: PrivateKey
    projectors: Projectors
    authorise: Authorise
    leases: Leases = field(default_factory=Leases)


def install(app: Flask, context: Context) -> None:
    """Give ``app`` its context."""
    app.extensions[_KEY] = context


def context() -> Context:
    """Return the context of the application that is answering."""
    return current_app.extensions[_KEY]

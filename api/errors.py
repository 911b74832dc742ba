"""Errors of the domain: a stable code, words a person can act on, and the field at fault."""

from collections.abc import Mapping


class DomainError(Exception):
    """Something the caller asked for cannot be done.

    ``code`` is stable and may be relied on by programs; ``message`` is for people and may be
    reworded. ``errors`` maps a field path such as ``emission.power`` to the list of what is wrong
    with it. ``facts`` carries further values a caller can use (an expected number, a time).
    """

    def __init__(
        self,
        code: str,
        message: str,
        *,
        field: str | None = None,
        errors: Mapping[str, list[str]] | None = None,
        **facts: object,
    ) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.errors: dict[str, list[str]] = dict(errors or {})
        if field is not None:
            self.errors.setdefault(field, []).append(message)
        self.facts = facts


class BadInput(DomainError):
    """What was given cannot be read or is outside what is possible."""


class NotFound(DomainError):
    """The thing does not exist, or is not the caller's to see: both answer alike."""


class NotSignedIn(DomainError):
    """Who is asking could not be established."""


class NotAllowed(DomainError):
    """It is known who is asking, and they may not."""


class Conflict(DomainError):
    """What was asked collides with what has happened meanwhile."""


class TooMany(DomainError):
    """Asked too often; ``facts["until"]`` says when to try again."""

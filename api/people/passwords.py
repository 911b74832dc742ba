"""What a password must be: long enough, and none of those that are tried first. Pure."""

from collections.abc import Iterable
from functools import cache

from api.errors import BadInput
from api.people.secrets import PASSWORD_LONGEST, PASSWORD_SHORTEST

# NIST SP 800-63B-4 (2025), 3.1.1.2: 15 characters where a password stands alone, 8 beside a
# second factor; no rules of composition, and a list of those that are commonly used.
SHORTEST_BESIDE_FACTOR = 8
# A word of the practice's own, as long as this, is most of a short password.
_OWN_WORD = 4


def check(password: str, *, beside_factor: bool, own_words: Iterable[str] = ()) -> None:
    """Raise ``BadInput`` at the field ``password`` unless it may be set.

    ``own_words`` are what a stranger would try here: names of the person and of the practice.
    """
    shortest = SHORTEST_BESIDE_FACTOR if beside_factor else PASSWORD_SHORTEST
    if not isinstance(password, str) or not shortest <= len(password) <= PASSWORD_LONGEST:
        raise BadInput(
            "password_form",
            f"A password has {shortest} to {PASSWORD_LONGEST} characters.",
            field="password",
            shortest=shortest,
        )
    plain = password.casefold()
    rest = plain
    for word in sorted(_words(own_words), key=len, reverse=True):
        rest = rest.replace(word, "")
    if plain in common() or len(set(plain)) < 4 or len(rest) < SHORTEST_BESIDE_FACTOR:
        raise BadInput(
            "password_common",
            "This password is among those that are tried first. Choose another.",
            field="password",
        )


@cache
def common() -> frozenset[str]:
    """Return the passwords that are used most, as the library zxcvbn lists them."""
    from zxcvbn.frequency_lists import FREQUENCY_LISTS

    return frozenset(FREQUENCY_LISTS["passwords"])


def _words(own_words: Iterable[str]) -> set[str]:
    found = set()
    for text in own_words:
        found.update(word for word in (text or "").casefold().split() if len(word) >= _OWN_WORD)
    return found

"""Breaks a text into lines that fit a width. Pure."""

from collections.abc import Callable

# Widths are sums of parts; a text exactly as wide as its line is not too wide.
_ROUNDING = 1e-6


def wrapped(text: str, width: float, width_of: Callable[[str], float]) -> list[str]:
    """Break ``text`` at its spaces into lines no wider than ``width``; at least one line.

    ``width_of`` tells the width of a character, in the unit of ``width``. The space at which a line
    is broken is dropped. A word wider than a line is broken where the line is full; a character
    that is wider by itself stands alone.
    """
    widths = {character: width_of(character) for character in set(text) if character != "\n"}
    return [line for part in text.split("\n") for line in _lines(part, width, widths)]


def _lines(text: str, width: float, widths: dict[str, float]) -> list[str]:
    lines = []
    start = at = 0
    space = -1
    used = 0.0
    while at < len(text):
        character = text[at]
        used += widths[character]
        if used > width + _ROUNDING and at > start:
            # Where the line ends, and where the next one begins.
            end = at if character == " " or space < 0 else space
            lines.append(text[start:end])
            start = at = end + 1 if text[end] == " " else end
            space, used = -1, 0.0
            continue
        if character == " ":
            space = at
        at += 1
    return [*lines, text[start:]]

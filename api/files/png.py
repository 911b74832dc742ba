"""Whether a file is a PNG picture from its first byte to its last. Pure.

Signature, chunks and their checks are those of the PNG specification (W3C, third edition, 5.2 to
5.6 and 11.2.1), which is ISO/IEC 15948.
"""

import zlib
from dataclasses import dataclass

from api.errors import BadInput

SIGNATURE = b"\x89PNG\r\n\x1a\n"
# An A4 page scanned at 600 dots an inch is 7016 high; a picture unpacked takes what it takes.
LARGEST_SIDE_PX = 8192

# Which depths [bits] go with which type of colour: table 11.1 of the specification.
_DEPTHS = {
    0: (1, 2, 4, 8, 16),
    2: (8, 16),
    3: (1, 2, 4, 8),
    4: (8, 16),
    6: (8, 16),
}
_FRAME_BYTES = 12


@dataclass(frozen=True)
class Picture:
    """The size of a picture."""

    width_px: int
    height_px: int


def read(content: bytes) -> Picture:
    """Return the size of the PNG that ``content`` wholly is.

    Every chunk's check is worked out anew, so that a file which was cut or damaged on the way is
    found. Raises ``BadInput`` "not_png" where it is not one from its first byte to its last.
    """
    if not content.startswith(SIGNATURE):
        raise _not_png("does not begin as one")
    place, picture, data = len(SIGNATURE), None, False
    while True:
        kind, body, place = _chunk(content, place)
        if picture is None:
            if kind != b"IHDR":
                raise _not_png("does not begin with its size")
            picture = _header(body)
        elif kind == b"IHDR":
            raise _not_png("says its size twice")
        elif kind == b"IDAT":
            data = True
        elif kind == b"IEND":
            break
    if body or not data:
        raise _not_png("holds no picture")
    if place != len(content):
        raise _not_png("has bytes behind its end")
    return picture


def _chunk(content: bytes, place: int) -> tuple[bytes, bytes, int]:
    length = int.from_bytes(content[place : place + 4])
    end = place + _FRAME_BYTES + length
    kind = content[place + 4 : place + 8]
    if end > len(content) or not (kind.isascii() and kind.isalpha()):
        raise _not_png("is broken off or damaged")
    body = content[place + 8 : end - 4]
    if zlib.crc32(kind + body) != int.from_bytes(content[end - 4 : end]):
        raise _not_png("is damaged")
    return kind, body, end


def _header(body: bytes) -> Picture:
    if len(body) != 13:
        raise _not_png("has no size")
    picture = Picture(width_px=int.from_bytes(body[:4]), height_px=int.from_bytes(body[4:8]))
    depth, colour, compression, filtering, interlaced = body[8:]
    if 0 in (picture.width_px, picture.height_px):
        raise _not_png("has no size")
    if max(picture.width_px, picture.height_px) > LARGEST_SIDE_PX:
        raise _not_png(f"is more than {LARGEST_SIDE_PX} pixels wide or high")
    if depth not in _DEPTHS.get(colour, ()) or compression or filtering or interlaced > 1:
        raise _not_png("is of a kind that is not known")
    return picture


def _not_png(why: str) -> BadInput:
    return BadInput("not_png", f"This is not a PNG we can keep: it {why}.")

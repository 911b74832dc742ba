"""What a JPEG file is made of, as far as it decides whether we keep it. Pure.

Segments and markers are those of ITU-T T.81, annex B; which application segments carry what is
said by the Exif (APP1), XMP (APP1), ICC (APP2) and JFIF (APP0) specifications.
"""

from dataclasses import dataclass

from api.errors import BadInput

LARGEST_SIDE_PX = 4096

_SOI, _EOI, _SOS, _TEM = 0xD8, 0xD9, 0xDA, 0x01
_RESTARTS = range(0xD0, 0xD8)
# Baseline, extended sequential and progressive, Huffman coded: what every browser shows.
_FRAMES = frozenset({0xC0, 0xC1, 0xC2})
_OTHER_FRAMES = frozenset({0xC3, *range(0xC5, 0xC8), *range(0xC9, 0xCC), *range(0xCD, 0xD0)})
_APP = range(0xE0, 0xF0)
_COMMENT = 0xFE
# Huffman and quantisation tables, number of lines, restart interval: what a picture is drawn with.
_TABLES = frozenset({0xC4, 0xDB, 0xDC, 0xDD})
# What a picture needs to be shown in its colours; all else may say who, where and with what.
_HARMLESS = {0xE0: b"JFIF\x00", 0xE2: b"ICC_PROFILE\x00", 0xEE: b"Adobe"}
# Longer ones carry a small picture, which may show what was cut off, or anything else.
_LENGTHS = {0xE0: 14, 0xEE: 12}


@dataclass(frozen=True)
class Picture:
    """The size of a picture."""

    width_px: int
    height_px: int


def read(content: bytes) -> Picture:
    """Return the size of the JPEG that ``content`` wholly is.

    Raises ``BadInput``: ``attachment_not_jpeg`` where it is not one from its first byte to its
    last, ``attachment_metadata`` where it carries more than the picture (Exif, XMP, IPTC, a
    comment, a maker's segment, or bytes behind the end).
    """
    if content[:2] != bytes((0xFF, _SOI)):
        raise _not_jpeg("does not begin as one")
    place, picture, scans = 2, None, 0
    while True:
        marker, place = _marker(content, place)
        if marker == _EOI:
            break
        body, place = _segment(content, place)
        if marker in _APP or marker == _COMMENT:
            _check_harmless(marker, body)
        elif marker in _FRAMES:
            if picture is not None:
                raise _not_jpeg("holds more than one picture")
            picture = _frame(body)
        elif marker in _OTHER_FRAMES:
            raise _not_jpeg("is of a kind that browsers do not show")
        elif marker == _SOS:
            if picture is None:
                raise _not_jpeg("has no size")
            scans += 1
            place = _end_of_scan(content, place)
        elif marker not in _TABLES:
            raise _metadata()
    if picture is None or scans == 0:
        raise _not_jpeg("holds no picture")
    if place != len(content):
        raise BadInput("attachment_metadata", "Bytes follow the end of the picture.")
    return picture


def _marker(content: bytes, place: int) -> tuple[int, int]:
    if place >= len(content) or content[place] != 0xFF:
        raise _not_jpeg("is broken off or damaged")
    while place < len(content) and content[place] == 0xFF:
        place += 1
    if place >= len(content) or content[place] in (0x00, _SOI, _TEM, *_RESTARTS):
        raise _not_jpeg("is broken off or damaged")
    return content[place], place + 1


def _segment(content: bytes, place: int) -> tuple[bytes, int]:
    length = int.from_bytes(content[place : place + 2])
    end = place + length
    if length < 2 or end > len(content):
        raise _not_jpeg("is broken off or damaged")
    return content[place + 2 : end], end


def _check_harmless(marker: int, body: bytes) -> None:
    wanted = _HARMLESS.get(marker)
    fits = len(body) == _LENGTHS.get(marker, len(body))
    if wanted is None or not body.startswith(wanted) or not fits:
        raise _metadata()


def _frame(body: bytes) -> Picture:
    if len(body) < 6 or body[0] != 8:
        raise _not_jpeg("is not of 8 bits a colour")
    picture = Picture(width_px=int.from_bytes(body[3:5]), height_px=int.from_bytes(body[1:3]))
    if 0 in (picture.width_px, picture.height_px):
        raise _not_jpeg("has no size")
    if max(picture.width_px, picture.height_px) > LARGEST_SIDE_PX:
        raise _not_jpeg(f"is more than {LARGEST_SIDE_PX} pixels wide or high")
    return picture


def _end_of_scan(content: bytes, place: int) -> int:
    """Return where the next marker stands; stuffed zeros and restarts belong to the scan."""
    while True:
        place = content.find(b"\xff", place)
        if place < 0 or place + 1 >= len(content):
            raise _not_jpeg("is broken off or damaged")
        following = content[place + 1]
        if following == 0xFF:
            place += 1
        elif following == 0x00 or following in _RESTARTS:
            place += 2
        else:
            return place


def _metadata() -> BadInput:
    return BadInput(
        "attachment_metadata",
        "The picture carries more than itself: Exif, XMP, IPTC, a comment or a maker's data.",
    )


def _not_jpeg(why: str) -> BadInput:
    return BadInput("attachment_not_jpeg", f"This is not a JPEG we can keep: it {why}.")

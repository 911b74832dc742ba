"""Whole pictures are read, whatever says more than the picture is refused."""

import random

import pytest
from PIL import Image, ImageCms

from api.errors import BadInput
from api.files import jpeg
from tests.records import pictures


def code(content: bytes) -> str | None:
    try:
        jpeg.read(content)
    except BadInput as problem:
        return problem.code
    return None


@pytest.mark.parametrize(
    "options",
    [
        {},
        {"progressive": True},
        {"quality": 100, "subsampling": 0},
        {"optimize": True},
        {"restart_marker_blocks": 2},
        {"dpi": (300, 300)},
        {"icc_profile": ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()},
    ],
    ids=["plain", "progressive", "fine", "optimised", "restarts", "density", "colours"],
)
def test_a_picture_is_read_with_its_size(options):
    assert jpeg.read(pictures.jpeg(321, 123, **options)) == jpeg.Picture(321, 123)


def test_grey_and_four_colours_are_pictures_too():
    for mode in ("L", "CMYK"):
        assert jpeg.read(pictures.encoded(Image.new(mode, (20, 10)))) == jpeg.Picture(20, 10)


@pytest.mark.parametrize(
    "content",
    [
        pictures.with_exif(),
        pictures.with_segment(0xE1, b"http://ns.adobe.com/xap/1.0/\x00<x:xmpmeta/>"),
        pictures.with_segment(0xED, b"Photoshop 3.0\x008BIM\x04\x04"),
        pictures.with_segment(0xE2, b"MPF\x00"),
        pictures.with_segment(0xE0, b"JFXX\x00\x10"),
        pictures.with_segment(0xE7, b"anything"),
        pictures.with_segment(0xF0, b"Exif\x00\x00, in a segment for extensions"),
        pictures.with_segment(0x02, b"Exif\x00\x00, in a reserved one"),
        # JFIF, X thumbnail 1, Y thumbnail 1, and its one pixel; and text behind Adobe's 12 bytes.
        pictures.with_segment(0xE0, b"JFIF\x00\x01\x01\x00\x00\x01\x00\x01\x01\x01RGB"),
        pictures.with_segment(0xEE, b"Adobe\x00d\x00\x00\x00\x00\x00the patient's name"),
        pictures.jpeg(comment=b"the patient's name"),
        pictures.jpeg() + b"more",
        pictures.jpeg() + pictures.jpeg(),
    ],
    ids=[
        "exif",
        "xmp",
        "iptc",
        "mpf",
        "thumbnail",
        "maker",
        "extension",
        "reserved",
        "small picture",
        "behind Adobe",
        "comment",
        "behind",
        "two",
    ],
)
def test_what_carries_more_than_the_picture_is_refused(content):
    assert code(content) == "attachment_metadata"


def test_other_files_and_broken_ones_are_refused():
    whole = pictures.jpeg()
    png = b"\x89PNG\r\n\x1a\n" + whole[8:]
    for content in (b"", b"\xff", b"\xff\xd8", b"\xff\xd8\xff\xd9", png, b"<svg/>", whole[2:]):
        assert code(content) == "attachment_not_jpeg", content[:8]
    for length in range(2, len(whole)):
        assert code(whole[:length]) == "attachment_not_jpeg", length


def test_too_large_a_side_is_refused():
    assert jpeg.LARGEST_SIDE_PX == 4096
    assert code(pictures.encoded(Image.new("L", (4096, 8)))) is None
    assert code(pictures.encoded(Image.new("L", (4097, 8)))) == "attachment_not_jpeg"
    assert code(pictures.encoded(Image.new("L", (8, 4097)))) == "attachment_not_jpeg"


def test_damaged_bytes_raise_nothing_else():
    dice = random.Random(20260302)
    whole = pictures.jpeg()
    for _ in range(3000):
        damaged = bytearray(whole)
        for _ in range(dice.randrange(1, 6)):
            damaged[dice.randrange(len(damaged))] = dice.randrange(256)
        assert code(bytes(damaged)) in (None, "attachment_not_jpeg", "attachment_metadata")

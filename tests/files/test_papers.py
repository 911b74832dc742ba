"""Papers are what their bytes say, from the first to the last, whatever they are called."""

import io
import random
import zipfile
import zlib

import pytest

from api.errors import BadInput
from api.files import papers
from tests.files.papers import pdf, png, rewritten
from tests.records import pictures


def judged(content: bytes) -> str:
    """The media type, or the code of the refusal."""
    try:
        return papers.media_type_of(content)
    except BadInput as problem:
        return problem.code


def zipped() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("page.html", "<script>alert(1)</script>")
    return out.getvalue()


PDF, PNG, JPEG = pdf(), png(), pictures.jpeg()
HTML = b"<!doctype html><script>alert(1)</script>"


@pytest.mark.parametrize(
    ("content", "media_type"),
    [
        (PDF, "application/pdf"),
        (rewritten(PDF), "application/pdf"),
        # ISO 32000-1, 7.5.5: lines end with any of three signs; 7.5.2: 2.0 is of ISO 32000-2.
        (PDF.replace(b"%PDF-1.3", b"%PDF-2.0"), "application/pdf"),
        (PDF.rstrip() + b"\r\n\r\n", "application/pdf"),
        (JPEG, "image/jpeg"),
        (pictures.jpeg(progressive=True), "image/jpeg"),
        (PNG, "image/png"),
        (png(mode="1"), "image/png"),
        (png(mode="P"), "image/png"),
        (png(mode="LA"), "image/png"),
        (png(mode="I;16"), "image/png"),
        (png(mode="RGBA", dpi=(300, 300)), "image/png"),
        (png(8192, 1), "image/png"),
    ],
)
def test_what_other_programs_write_is_known_for_what_it_is(content, media_type):
    assert judged(content) == media_type


UNKNOWN, DAMAGED = "certificate_unknown_kind", "certificate_damaged"


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", UNKNOWN),
        (b"\x00", UNKNOWN),
        (HTML, UNKNOWN),
        (b"<svg onload='alert(1)'/>", UNKNOWN),
        (zipped(), UNKNOWN),
        (b"GIF89a" + bytes(20), UNKNOWN),
        # Whoever puts something before the header means another program to see something else.
        (b"\n" + PDF, UNKNOWN),
        (HTML + PDF, UNKNOWN),
        (b"%PDF-9.9\n" + PDF[9:], DAMAGED),
        (b"%PDF-1.7\n", DAMAGED),
        (b"%PDF-1.7\n" + HTML, DAMAGED),
        (PDF[: len(PDF) // 2], DAMAGED),
        (PDF[:-3], DAMAGED),
        (PDF + HTML, DAMAGED),
        (PDF + zipped(), DAMAGED),
        (PDF.replace(b"startxref", b"startxxxx"), DAMAGED),
        (b"%PDF-1.7\nstartxref\n999999\n%%EOF\n", DAMAGED),
        (b"%PDF-1.7\nstartxref\n0\n%%EOF\n", DAMAGED),
        # The beginning of one kind before the rest of another.
        (b"\x89PNG\r\n\x1a\n" + PDF, DAMAGED),
        (b"\xff\xd8" + PDF, DAMAGED),
        (b"%PDF-1.7\n" + PNG, DAMAGED),
        (PNG + PDF, DAMAGED),
        (PNG + b"\x00", DAMAGED),
        (PNG[:-4], DAMAGED),
        (PNG[:8], DAMAGED),
        (JPEG + zipped(), DAMAGED),
        (JPEG[:-2], DAMAGED),
        (pictures.with_exif(), DAMAGED),
        (png(8193, 1), DAMAGED),
    ],
)
def test_what_is_none_or_more_than_one_is_refused(content, code):
    assert judged(content) == code


def chunk(kind: bytes, body: bytes) -> bytes:
    """A chunk as the PNG specification, 5.3, lays it out."""
    return len(body).to_bytes(4) + kind + body + zlib.crc32(kind + body).to_bytes(4)


HEADER = chunk(b"IHDR", bytes.fromhex("0000000100000001 08 00 00 00 00".replace(" ", "")))
DATA = chunk(b"IDAT", zlib.compress(b"\x00\x00"))
END = chunk(b"IEND", b"")
START = b"\x89PNG\r\n\x1a\n"


def test_a_picture_of_one_point_put_together_by_hand():
    assert judged(START + HEADER + DATA + END) == "image/png"
    assert judged(START + HEADER + chunk(b"prIv", HTML) + DATA + END) == "image/png"


@pytest.mark.parametrize(
    "chunks",
    [
        HEADER + END,
        DATA + HEADER + END,
        HEADER + HEADER + DATA + END,
        HEADER + DATA,
        HEADER + DATA + chunk(b"IEND", b"more"),
        chunk(b"IHDR", bytes(13)) + DATA + END,
        chunk(b"IHDR", bytes(12)) + DATA + END,
        # Three bits a colour are no depth (table 11.1); three ways of interlacing neither.
        chunk(b"IHDR", bytes.fromhex("00000001000000010300000000")) + DATA + END,
        chunk(b"IHDR", bytes.fromhex("00000001000000010800000002")) + DATA + END,
        HEADER + DATA[:-1] + b"\x00" + END,
        HEADER + b"\xff\xff\xff\xff" + DATA[4:] + END,
        HEADER + chunk(b"1234", b"") + DATA + END,
        # A PDF in a chunk of text: its header is where other readers still look for one.
        HEADER + chunk(b"tEXt", b"a\x00" + PDF) + DATA + END,
    ],
)
def test_chunks_in_another_order_or_of_another_form_are_refused(chunks):
    assert judged(START + chunks) == DAMAGED


def test_whatever_is_cut_or_changed_never_does_more_than_be_refused():
    random_ = random.Random(20260302)
    for content in (PDF, PNG, JPEG):
        for _ in range(300):
            place = random_.randrange(len(content))
            assert judged(content[:place]) in (UNKNOWN, DAMAGED)
            changed = bytearray(content)
            changed[place] = random_.randrange(256)
            # A PDF's pages and a JPEG's colours are not looked into; a PNG checks every byte.
            if judged(bytes(changed)) == "image/png":
                assert bytes(changed) == content

"""JPEG files for tests, made by Pillow, which is not what reads them in the program."""

import io

from PIL import Image


def jpeg(width_px: int = 64, height_px: int = 48, **options: object) -> bytes:
    """Return a JPEG of a plain gradient; ``options`` go to Pillow's encoder."""
    picture = Image.new("RGB", (width_px, height_px))
    picture.putdata(
        [
            (x * 255 // width_px, y * 255 // height_px, 90)
            for y in range(height_px)
            for x in range(width_px)
        ]
    )
    return encoded(picture, **options)


def encoded(picture: Image.Image, **options: object) -> bytes:
    """Return a picture as a JPEG file."""
    out = io.BytesIO()
    picture.save(out, "JPEG", **options)
    return out.getvalue()


def with_exif() -> bytes:
    """Return a JPEG that says where it was taken, as a camera's does."""
    exif = Image.Exif()
    exif[0x010F] = "A camera"
    exif[0x8825] = {1: "N", 2: (48.0, 12.0, 0.0)}
    return jpeg(exif=exif)


def segment(marker: int, body: bytes) -> bytes:
    """Return one segment of a JPEG file (ITU-T T.81, B.1.1.4)."""
    return bytes((0xFF, marker)) + (len(body) + 2).to_bytes(2) + body


def with_segment(marker: int, body: bytes, content: bytes | None = None) -> bytes:
    """Return a JPEG with one more segment behind its first two bytes."""
    whole = jpeg() if content is None else content
    return whole[:2] + segment(marker, body) + whole[2:]

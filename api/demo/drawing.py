"""The demo's photograph: drawn here, of nobody, and says so."""

import io

from PIL import Image, ImageDraw

SIZE_PX = (960, 720)
_PAPER, _LINE, _SOFT = (246, 240, 232), (70, 60, 55), (222, 168, 156)
_TEXT = "DRAWN FOR THE DEMO. NOBODY'S MOUTH."


def draw() -> bytes:
    """Return a JPEG of a drawn lip with a mark on it; the same bytes each time."""
    picture = Image.new("RGB", SIZE_PX, _PAPER)
    pen = ImageDraw.Draw(picture)
    width, height = SIZE_PX
    pen.ellipse((width * 0.15, height * 0.25, width * 0.85, height * 0.75), _SOFT, _LINE, 6)
    pen.arc((width * 0.2, height * 0.3, width * 0.8, height * 0.62), 20, 160, _LINE, 6)
    pen.ellipse((width * 0.5, height * 0.58, width * 0.56, height * 0.66), _PAPER, _LINE, 4)
    for millimetre in range(11):
        x = width * 0.3 + millimetre * 30
        pen.line((x, height * 0.86, x, height * (0.82 if millimetre % 5 else 0.79)), _LINE, 4)
    pen.line((width * 0.3, height * 0.86, width * 0.3 + 300, height * 0.86), _LINE, 4)
    pen.text((width * 0.3, height * 0.9), _TEXT, _LINE)
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=85)
    return out.getvalue()

"""What the browser's false camera shows: a picture from the screen, held before it by hand."""

from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Locator

WIDTH, HEIGHT = 640, 480
# Held a little askew, and not filling the picture.
TURNED_DEG, ACROSS_PX = 7, 560


def camera(film: Path) -> tuple[str, ...]:
    """How Chromium is started so that its camera shows ``film``, without asking anybody."""
    return (
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-video-capture={film}",
    )


def hold(shown: Locator, film: Path) -> None:
    """Let the camera see what is drawn at ``shown`` from its next opening on."""
    label = Image.open(BytesIO(shown.screenshot())).convert("L")
    label = label.resize((ACROSS_PX, round(label.height * ACROSS_PX / label.width)))
    label = label.rotate(TURNED_DEG, expand=True, fillcolor=150)
    label.thumbnail((WIDTH, HEIGHT))
    picture = Image.new("L", (WIDTH, HEIGHT), 150)
    picture.paste(label, ((WIDTH - label.width) // 2, (HEIGHT - label.height) // 2))
    # YUV4MPEG2: brightness first, then two planes of colour at a quarter, here without any.
    head = f"YUV4MPEG2 W{WIDTH} H{HEIGHT} F10:1 Ip A1:1 C420jpeg\n".encode()
    frame = b"FRAME\n" + picture.tobytes() + bytes([128]) * (WIDTH * HEIGHT // 2)
    film.write_bytes(head + frame * 2)

"""A photograph from the camera's file to the record: without what the camera wrote into it."""

import hashlib
import io

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from api.files import jpeg
from tests.records import pictures
from tests.story import acts
from tests.story.served import rows

OPERATOR, FRONT_DESK = "placeholder", "demonstra"
CHART = "90733"


def from_a_camera() -> bytes:
    """Return a large JPEG held on its side, with the place and the camera written into it."""
    picture = Image.effect_mandelbrot((3000, 2000), (-2, -1.2, 0.6, 1.2), 40).convert("RGB")
    exif = Image.Exif()
    exif[0x0112] = 6  # Orientation: the top of what was seen is at the right of what is stored.
    exif[0x010F] = "Invented Camera Works"
    exif[0x8825] = {1: "N", 2: (48.0, 12.0, 0.0), 3: "E", 4: (11.0, 34.0, 0.0)}
    made = pictures.encoded(picture, exif=exif, comment=b"somebody's name", quality=92)
    assert Image.open(io.BytesIO(made)).getexif().get_ifd(0x8825)
    return made


def stored(server) -> list[tuple[str, bytes]]:
    return rows(server, "SELECT sha256, content FROM attachment")


def take(page: Page, content: bytes, name: str = "IMG_0001.jpg") -> None:
    page.get_by_test_id("photo-choose-file").set_input_files(
        {"name": name, "mimeType": "image/jpeg", "buffer": content}
    )


def where(page: Page):
    return page.locator("[data-testid^=photo-][data-testid$=-where]")


def in_the_page_s_caches(page: Page) -> list[str]:
    return page.evaluate(
        """async () => {
            const found = [];
            for (const name of await caches.keys()) {
              for (const request of await (await caches.open(name)).keys()) found.push(request.url);
            }
            return found;
        }"""
    )


def lose_the_database(page: Page) -> None:
    """As a killed browser may: the pictures' database is gone, what lies beside it is not."""
    back = page.url
    page.goto("/icon.svg")
    assert (
        page.evaluate(
            """() => new Promise((done) => {
            const asked = indexedDB.deleteDatabase("photographs");
            // Held up for a moment where the page before has not quite let go of it.
            asked.onsuccess = () => done("gone");
            asked.onerror = () => done("still there");
            setTimeout(() => done("held on to"), 30_000);
        })"""
        )
        == "gone"
    )
    page.goto(back)


@pytest.mark.once
def test_from_the_camera_to_the_record(server, tablet: Page, desk: Page):
    before = stored(server)
    acts.enrol(tablet, server.new_code(), "Tablet with a camera")
    acts.sign_in(tablet, OPERATOR)
    acts.plan_from_preset(tablet, "Frenum, fine")
    acts.open_case(tablet, chart=CHART, initials="PH")
    acts.answer_timeout(tablet)
    acts.go_offline(tablet)
    tablet.get_by_test_id("case-photographs").click()

    take(tablet, b"no picture at all", "notes.jpg")
    expect(tablet.get_by_test_id("photo-wrong")).to_contain_text("not a picture")
    take(tablet, from_a_camera())
    expect(tablet.get_by_test_id("photo-fresh")).to_be_visible()
    tablet.get_by_test_id("photo-caption-before").check()
    tablet.get_by_test_id("photo-keep").click()
    expect(where(tablet)).to_contain_text("On this tablet, not on the server yet")
    expect(tablet.get_by_test_id("photographs-not-sent")).to_contain_text("1 photograph is not")
    expect(tablet.locator(".photo img")).to_be_visible()

    # Sealed on the tablet, so it is there again after a reload without a network.
    tablet.reload()
    acts.sign_in(tablet, OPERATOR)
    shown = tablet.locator(".photo img")
    expect(shown).to_be_visible()
    tablet.wait_for_function("() => document.querySelector('.photo img').naturalHeight === 2048")
    lose_the_database(tablet)
    acts.sign_in(tablet, OPERATOR)
    expect(shown).to_be_visible()
    expect(where(tablet)).to_contain_text("On this tablet, not on the server yet")
    address = shown.get_attribute("src")
    tablet.get_by_test_id("lock").click()
    expect(tablet.get_by_test_id("people")).to_be_visible()
    gone = "address => fetch(address).then(() => 'still there', () => 'gone')"
    acts.until(
        tablet, lambda: tablet.evaluate(gone, address), lambda is_: is_ == "gone", "no address left"
    )
    acts.sign_in(tablet, OPERATOR)
    expect(tablet.locator(".photo img")).to_be_visible()
    assert stored(server) == before

    # The server asks who hands a picture in: whoever next signs in with a connection.
    tablet.context.set_offline(False)
    tablet.get_by_test_id("lock").click()
    acts.sign_in(tablet, OPERATOR)
    expect(where(tablet)).to_contain_text("On the server", timeout=90_000)
    expect(tablet.get_by_test_id("photographs-not-sent")).to_have_count(0)
    [(sha256, content)] = [row for row in stored(server) if row not in before]
    assert hashlib.sha256(content).hexdigest() == sha256
    # 3000 x 2000, turned by its Orientation, is 2000 x 3000; 2048 / 3000 of that is 1365 x 2048.
    assert jpeg.read(content) == jpeg.Picture(1365, 2048)
    kept = Image.open(io.BytesIO(content))
    assert len(kept.getexif()) == 0
    assert not {"exif", "comment", "xmp", "photoshop"} & kept.info.keys()
    assert b"Invented Camera" not in content and b"somebody" not in content
    assert not [url for url in in_the_page_s_caches(tablet) if "/api/" in url or sha256 in url]

    acts.desk_sign_in(desk, FRONT_DESK)
    answer = desk.request.get(f"/api/v1/attachments/{sha256}")
    assert (answer.status, answer.body()) == (200, content)

    record_id = tablet.url.split("/case/")[1].split("/")[0]
    desk.goto(f"/#/records/{record_id}")
    expect(desk.locator(".photo img")).to_be_visible()
    expect(where(desk)).to_contain_text("On the server")

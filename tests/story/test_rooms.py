"""The safety officer draws a room, looks at its hazard distances and decides about eyewear."""

from playwright.sync_api import Page, expect

from tests.story import acts
from tests.story.looking import look

OFFICER, ASSISTANT = "fixtureby", "dummyfield"


def open_room(page: Page, name: str) -> None:
    page.get_by_test_id("nav-practice").click()
    page.get_by_test_id("practice-rooms").click()
    page.get_by_test_id("room").filter(has_text=name).click()
    expect(page.get_by_test_id("room-plan")).to_be_visible()


def test_a_room_is_drawn_and_its_zone_decided(server, tablet: Page):
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, OFFICER)
    open_room(tablet, "Room 1")
    expect(tablet.get_by_test_id("zone-power")).to_have_text("20 W")
    # f 100 mm, 6 mm 1/e2 on the lens, 20 W: 100 / (6 / sqrt 2) x sqrt(4 x 20 / (pi x 1000))
    # = 3.761 m, rounded up; 2.017 + log10 20 = 3.318, rounded up.
    expect(tablet.get_by_test_id("hazard-lens_distance")).to_contain_text("3.77")
    expect(tablet.get_by_test_id("hazard-density")).to_contain_text("3.4")
    expect(tablet.get_by_test_id("zone-undecided")).to_be_visible()
    # Farther than every corner: the whole room, with its door and its window.
    words = tablet.get_by_test_id("room-plan-words")
    expect(words).to_contain_text("whole room")
    expect(words).to_contain_text("door")
    tablet.get_by_test_id("hazard-lens_distance-more-open").click()
    opened = tablet.get_by_test_id("hazard-lens_distance")
    # Its inputs with their origin, its validity, edition and status, as the registers, hazard's
    # constants.json and references.md have them.
    for part in ("Greatest power", "laser register", "Focal length", "handpiece register",
                 "distances large against the focal length", "from memory", "ICNIRP 2013",
                 "IEC 60825-1:2014"):  # fmt: skip
        expect(opened).to_contain_text(part)
    assert look(tablet, "room") == []
    # Paper does not open: what the numbers rest on is printed below them.
    basis = tablet.get_by_test_id("zone-basis")
    expect(basis).to_be_hidden()
    tablet.emulate_media(media="print")
    expect(basis).to_be_visible()
    for part in ("Edition of the limits: ICNIRP 2013", "Exposure time: 10\u00a0s (assumed",
                 "EN 207", "read in a transcription"):  # fmt: skip
        expect(basis).to_contain_text(part)
    expect(opened.get_by_test_id("hazard-lens_distance-more")).to_be_hidden()
    # Nor does it choose: of which laser and handpiece the sheet speaks stands there as text.
    expect(tablet.get_by_test_id("zone-laser")).to_contain_text("Laser: ")
    expect(tablet.get_by_test_id("zone-handpiece")).to_contain_text("Handpiece or tip: ")
    expect(tablet.locator("input:visible")).to_have_count(0)
    tablet.emulate_media(media="screen")

    # A value that the engine refuses stays in its field, with the reason beside it.
    tablet.get_by_test_id("zone-more-open").click()
    tablet.get_by_test_id("zone-divergence").fill("9000")
    expect(tablet.get_by_test_id("room-refused")).to_contain_text("Divergence of the free beam")
    expect(tablet.get_by_test_id("zone-divergence-wrong")).to_have_text(
        "Must be from 1 µrad to 3 rad."
    )
    expect(tablet.get_by_test_id("zone-divergence")).to_be_focused()
    tablet.get_by_test_id("zone-divergence").fill("")
    expect(tablet.get_by_test_id("room-refused")).to_have_count(0)

    tablet.get_by_test_id("zone-who-smaller").check()
    expect(tablet.get_by_test_id("zone-keep")).to_be_disabled()
    tablet.get_by_test_id("zone-smaller").fill("5")
    expect(tablet.get_by_test_id("zone-smaller-wrong")).to_be_visible()
    tablet.get_by_test_id("zone-smaller").fill("1.5")
    expect(tablet.get_by_test_id("zone-reason-wrong")).to_be_visible()
    tablet.get_by_test_id("zone-reason-field").fill("Screen of sheet metal round the chair")
    acts.go_offline(tablet)
    tablet.get_by_test_id("zone-keep").click()
    expect(tablet.get_by_test_id("zone-decided")).to_be_visible()
    expect(tablet.get_by_test_id("zone-reason")).to_contain_text("sheet metal")
    sentence = tablet.get_by_test_id("zone-sentence")
    expect(sentence).to_contain_text("1.5")
    # The distance that was worked out stays beside the smaller one.
    expect(sentence).to_contain_text("3.77")

    tablet.get_by_test_id("room-draw").click()
    tablet.get_by_test_id("opening-0-from").fill("400")
    expect(tablet.get_by_test_id("opening-0-wrong")).to_be_visible()
    expect(tablet.get_by_test_id("room-save")).to_be_disabled()
    tablet.get_by_test_id("opening-0-from").fill("20")
    acts.until_kept(tablet, '"from":"20"')
    tablet.reload()
    acts.sign_in(tablet, OFFICER)
    with acts.nothing_lost():
        expect(tablet.get_by_test_id("opening-0-from")).to_have_value("20")
    tablet.get_by_test_id("room-save").click()
    expect(tablet.get_by_test_id("zone-redrawn")).to_be_visible()
    tablet.context.set_offline(False)
    tablet.get_by_test_id("nav-today").click()
    expect(tablet.get_by_test_id("sync-waiting")).to_contain_text("Nothing waits", timeout=30_000)


def test_others_read_the_sheet_and_change_nothing(server, tablet: Page):
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, ASSISTANT)
    open_room(tablet, "Room 2")
    expect(tablet.get_by_test_id("zone-sentence")).to_be_visible()
    expect(tablet.get_by_test_id("zone-decision")).to_have_count(0)
    expect(tablet.get_by_test_id("room-draw")).to_have_count(0)

"""What lies on a tablet while it is locked, and when it locks itself.

What is said of a patient goes in through the screens and is then looked for everywhere but in the
server's database: in the server's logs, in addresses, in every storage of the browser as a page of
the origin reads it (LevelDB may compress its files), and byte by byte in the files of its profile.
"""

import base64
import json
import re
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from api.people import tablets
from tests.story import acts, looking
from tests.story.conftest import QUIET, TABLET_SIZE, chromium_path
from tests.story.served import rows, served_record
from tests.story.serving import demo_practice

OPERATOR, ASSISTANT, ADMINISTRATOR = "placeholder", "dummyfield", "standin"
READ_PROFILE = (Path(__file__).parent / "profile.js").read_text()

# Long enough not to come up by chance; with letters that UTF-8 and Latin-1 write differently.
CHART = "QV-7714-ZKW"
INITIALS = "Xq.Wj.Zv.Kü"
SITE = "encía junto al kwyj-3391"
INDICATION = "frenillo corto, ñandú-2207"
NOTE = "apuntado al lado, canción-5581"
HALF_TYPED = "a medio escribir, añil-8842"
CANARIES = (CHART, INITIALS, SITE, INDICATION, NOTE, HALF_TYPED)


@pytest.fixture(scope="module")
def logs(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("logs")


@pytest.fixture(scope="module")
def server(tmp_path_factory, logs, loaded):
    folder = tmp_path_factory.mktemp("practice")
    with demo_practice(folder, loaded=loaded, logs=logs) as served:
        yield served


def forms(word: str) -> set[bytes]:
    """The bytes a text may lie in a file as; in base64 at each of its three places in a group."""
    plain = {word.encode("utf-8"), word.encode("utf-16-le"), word.encode("latin-1")}
    coded = set()
    for form in plain:
        for shift in range(3):
            whole = base64.b64encode(b"\0" * shift + form).rstrip(b"=")
            # The first and the last digits depend on what stands beside the text as well.
            inside = whole[4 if shift else 0 : -2]
            coded |= {inside, inside.translate(bytes.maketrans(b"+/", b"-_"))}
    return plain | coded


def in_files(folder: Path, words: tuple[str, ...]) -> list[tuple[str, str]]:
    wanted = [(word, form) for word in words for form in forms(word)]
    return sorted(
        {
            (word, str(path.relative_to(folder)))
            for path in folder.rglob("*")
            if path.is_file() and not path.is_symlink()
            for content in [path.read_bytes()]
            for word, form in wanted
            if form in content
        }
    )


def key_in_files(folder: Path, key: str) -> bool:
    """Whether a key (base64url, without padding) lies in a file, as bytes or as text."""
    bare = base64.urlsafe_b64decode(key + "=" * (-len(key) % 4))
    assert len(bare) == 32
    return any(
        form in path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and not path.is_symlink()
        for form in (bare, key.encode(), bare.hex().encode())
    )


def in_texts(texts: dict[str, str], words: tuple[str, ...]) -> list[tuple[str, str]]:
    wanted = {word: {word, *(form.decode("latin-1") for form in forms(word))} for word in words}
    return sorted(
        (word, place)
        for place, text in texts.items()
        for word, spelled in wanted.items()
        if any(one in text for one in spelled)
    )


def record_with_every_word(server, page: Page) -> None:
    acts.enrol(page, server.new_code(), "Tablet at rest")
    acts.sign_in(page, OPERATOR)
    acts.plan_from_preset(page, "Frenum, fine")
    page.get_by_test_id("chart-number").fill(CHART)
    page.get_by_test_id("second-identifier").fill(INITIALS)
    page.get_by_test_id("procedure-kind").select_option(index=1)
    page.get_by_test_id("site").fill(SITE)
    page.get_by_test_id("indication").fill(INDICATION)
    page.get_by_test_id("consent").check()
    page.get_by_test_id("alerts").check()
    page.get_by_test_id("case-open").click()
    expect(page.get_by_test_id("timeout")).to_be_visible()
    acts.answer_timeout(page)
    page.get_by_test_id("pass-start").click()
    acts.add_time(page, "12.5", "device-counter")
    page.get_by_test_id("case-notes").click()
    page.get_by_test_id("note").fill(NOTE)
    page.get_by_test_id("note-add").click()
    expect(page.get_by_test_id("notes")).to_contain_text(NOTE)
    page.get_by_test_id("note").fill(HALF_TYPED)
    acts.on_server(page)


# A twin for each place that is looked into: left there in the clear, it must be found.
TWINS = {
    "indexedDB": "gemelo-i-9913",
    "localStorage": "gemelo-l-9914",
    "caches": "gemelo-c-9915",
    "files": "gemelo-f-9916",
    "page": "gemelo-p-9917",
}
LEAVE_TWINS = """async (twins) => {
    const opening = indexedDB.open("twin", 1);
    await new Promise((resolve) => {
      opening.onupgradeneeded = () => opening.result.createObjectStore("twin");
      opening.onsuccess = resolve;
    });
    const writing = opening.result.transaction("twin", "readwrite", { durability: "strict" });
    writing.objectStore("twin").put({ said: twins.indexedDB }, 1);
    await new Promise((resolve) => { writing.oncomplete = resolve; });
    opening.result.close();
    localStorage.setItem("twin", twins.localStorage);
    await (await caches.open("twin")).put("/twin", new Response(twins.caches));
    const folder = await navigator.storage.getDirectory();
    const writable = await (await folder.getFileHandle("twin", { create: true })).createWritable();
    await writable.write(twins.files);
    await writable.close();
    document.body.append(Object.assign(document.createElement("i"), { textContent: twins.page }));
}"""


@pytest.mark.once
def test_nothing_of_a_patient_can_be_read_in_a_locked_profile(server, logs, browser, tmp_path):
    profile = tmp_path / "profile"
    addresses: list[str] = []
    context: BrowserContext = browser.browser_type.launch_persistent_context(
        profile,
        executable_path=chromium_path(),
        args=list(QUIET),
        viewport=TABLET_SIZE,
        base_url=server.address,
    )
    context.on("request", lambda request: addresses.append(request.url))
    page = context.pages[0]
    page.goto("/")
    record_with_every_word(server, page)
    # The server's own copy of the record has come back among what it sent.
    acts.kept(page, "records", served_record(server, CHART)["record_id"])
    tablet_id = acts.kept(page, "identity", "tablet")["tablet_id"]
    page.get_by_test_id("lock").click()
    expect(page.get_by_test_id("people")).to_be_visible()

    read = page.evaluate(READ_PROFILE)
    assert in_texts(read["found"], CANARIES) == []
    # What the server sent opens with no key that lies there; what was recorded here does, so that
    # it can be sent while locked: there the tablet's own passcode and disk encryption protect.
    assert read["records"]["held"] > 0
    assert read["records"]["opened"] == 0
    assert read["entries"]["opened"] == read["entries"]["held"] > 3

    page.evaluate(LEAVE_TWINS, TWINS)
    found = in_texts(page.evaluate(READ_PROFILE)["found"], tuple(TWINS.values()))
    assert found == sorted((twin, place) for place, twin in TWINS.items())
    said = "gemelo-a-9918"
    page.evaluate("(said) => fetch(`/api/v1/records/${said}`).then(() => undefined)", said)
    # The server writes down what it has answered, after the answer.
    log = logs / "access.log"
    acts.until(page, log.read_text, lambda text: said in text, "the request in the server's log")
    context.close()

    assert len(addresses) > 20
    texts = {"addresses": "\n".join(addresses)}
    texts |= {path.name: path.read_text(errors="replace") for path in logs.iterdir()}
    assert in_texts(texts, CANARIES) == []
    assert {place for _, place in in_texts(texts, (said,))} >= {"addresses", "access.log"}

    assert in_files(profile, CANARIES) == []
    # Of the two keys of this tablet one lies in its files, as any that a browser keeps, even one
    # that it does not hand out; the other, under which the server's records lie, is not there.
    assert key_in_files(profile, tablets.keep_key(server.key(), tablet_id))
    assert not key_in_files(profile, tablets.view_key(server.key(), tablet_id))
    kept = {twin: place for place, twin in TWINS.items() if place != "page"}
    where = in_files(profile, tuple(kept))
    assert {word for word, _ in where} == kept.keys()
    assert any(re.search(r"IndexedDB", path) for _, path in where)


def test_a_copied_text_is_found_in_every_form(tmp_path):
    """The search itself: by hand, in each form, at each place of a group of base64."""
    for at, form in enumerate(("utf-8", "utf-16-le", "latin-1")):
        (tmp_path / f"plain{at}").write_bytes(b"\x01\x02" + SITE.encode(form) + b"\xff")
    for shift in range(3):
        coded = base64.urlsafe_b64encode(b"abc"[:shift] + SITE.encode() + b"tail")
        (tmp_path / f"coded{shift}").write_bytes(b'{"$bytes":"' + coded + b'"}')
    (tmp_path / "nothing").write_bytes(SITE.encode()[::-1])
    found = {path for _, path in in_files(tmp_path, CANARIES)}
    assert found == {"plain0", "plain1", "plain2", "coded0", "coded1", "coded2"}


def begin_case(page: Page, chart: str) -> None:
    acts.plan_from_preset(page, "Frenum, fine")
    acts.open_case(page, chart=chart, initials="QX")
    acts.answer_timeout(page)
    page.get_by_test_id("pass-start").click()
    expect(page.get_by_test_id("case-pass")).to_contain_text("1")


@pytest.mark.once
def test_it_locks_by_itself_and_a_running_time_can_still_be_stopped(server, tablet: Page):
    # 2 minutes at the chair and 15 in an open case: the tablet's and the practice's own choice.
    tablet.clock.install()
    tablet.reload()
    acts.enrol(tablet, server.new_code(), "Tablet I")
    acts.sign_in(tablet, OPERATOR)
    locked = tablet.get_by_test_id("people")
    tablet.clock.fast_forward("01:30")
    expect(tablet.get_by_test_id("lock")).to_be_visible()
    tablet.clock.fast_forward("00:40")
    expect(locked).to_be_visible()

    acts.sign_in(tablet, OPERATOR)
    begin_case(tablet, "90811")
    tablet.get_by_test_id("laser-start").click()
    expect(tablet.get_by_test_id("laser-time")).to_have_attribute("data-kept", "yes")
    tablet.clock.fast_forward("14:00")
    expect(tablet.get_by_test_id("lock")).to_be_visible()
    tablet.clock.fast_forward("01:10")
    expect(locked).to_be_visible()
    assert "90811" not in tablet.content()
    tablet.get_by_test_id("lock-stop").click()
    expect(tablet.get_by_test_id("lock-kept")).to_contain_text("kept")
    acts.sign_in(tablet, OPERATOR)
    expect(tablet.get_by_test_id("case-patient")).to_contain_text("90811")
    expect(tablet.get_by_test_id("timer-keep")).to_be_visible()


@pytest.mark.once
def test_a_clock_that_is_put_back_keeps_no_screen_open(server, tablet: Page):
    tablet.clock.install()
    tablet.reload()
    acts.enrol(tablet, server.new_code(), "Tablet J")
    acts.sign_in(tablet, OPERATOR)
    tablet.clock.set_system_time(0)
    tablet.clock.fast_forward("02:10")
    expect(tablet.get_by_test_id("people")).to_be_visible()


@pytest.mark.once
def test_a_lost_tablet_shows_nothing_and_hands_in_what_it_holds(server, tablet: Page):
    acts.enrol(tablet, server.new_code(), "Tablet K")
    acts.sign_in(tablet, ASSISTANT)
    tablet.get_by_test_id("lock").click()
    acts.sign_in(tablet, OPERATOR)
    acts.go_offline(tablet)
    begin_case(tablet, "90821")
    expect(tablet.get_by_test_id("saved-state").first).to_contain_text("Saved on this tablet")
    tablet_id = acts.kept(tablet, "identity", "tablet")["tablet_id"]
    revoked = server.dosebook("tablet", "revoke", tablet_id)
    assert revoked.returncode == 0, revoked.stderr
    tablet.context.set_offline(False)

    expect(tablet.get_by_test_id("tablet-revoked")).to_be_visible(timeout=60_000)
    expect(tablet.get_by_test_id("people")).to_have_count(0)
    assert "90821" not in tablet.content()
    held = acts.until(
        tablet,
        lambda: tablet.evaluate(READ_PROFILE),
        lambda read: read["records"]["held"] == 0,
        "a lost tablet drops its records",
    )
    # The screen shuts before the last of it is handed in.
    acts.all_sent(tablet)
    headers = [json.loads(text) for (text,) in rows(server, "SELECT header FROM event")]
    aside = [header for header in headers if header["verdict"] == "quarantined"]
    assert len(aside) == held["entries"]["held"] > 2

    # Without a network it is as shut as with one.
    tablet.context.set_offline(True)
    tablet.reload()
    expect(tablet.get_by_test_id("tablet-revoked")).to_be_visible()
    expect(tablet.get_by_test_id("people")).to_have_count(0)


def test_a_practice_sets_how_long_a_tablet_may_go_without_the_server(
    server, tablet: Page, desk: Page
):
    acts.desk_sign_in(desk, ADMINISTRATOR)
    desk.get_by_test_id("practice-tablets").click()
    # Seven days, until somebody says otherwise.
    expect(desk.get_by_test_id("offline-days-7")).to_be_checked()
    expect(desk.get_by_test_id("offline-go")).to_be_disabled()
    desk.get_by_test_id("offline-days-3").check()
    desk.get_by_test_id("offline-go").click()
    expect(desk.get_by_test_id("offline-done")).to_contain_text("3 days")
    assert looking.look(desk, "tablets with the limit") == []
    desk.reload()
    expect(desk.get_by_test_id("offline-days-3")).to_be_checked()

    acts.enrol(tablet, server.new_code(), "Tablet M")
    location_id = acts.kept(tablet, "identity", "tablet")["location_id"]
    # The house's documents come with the first answer to a pull, some time after the enrolment.
    acts.kept(
        tablet,
        "documents",
        ["house", "location", location_id],
        holds=lambda document: document["body"]["offline_days"] == 3,
    )

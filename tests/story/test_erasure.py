"""A record is erased by two people at desks, and the tablet that wrote it lets go of it."""

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.records import pictures
from tests.story import acts, looking
from tests.story.conftest import TABLET_SIZE, new_context
from tests.story.test_photographs import take, where
from tests.story.walk import to

DENTIST, MANAGER = "placeholder", "exemplar"
CHART = "90644"
CITATION = "House rule 7"
ALWAYS_ONLINE = True
# What the tablet holds of a record: what its entries say, how they lie sealed in the database and
# in the second copy's files, and its pictures in both places.
HELD = """async (record_id) => {
  const asked = (request) => new Promise((done, failed) => {
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });
  const all = async (name, store) => {
    const database = await asked(indexedDB.open(name));
    const rows = await asked(database.transaction(store).objectStore(store).getAll());
    database.close();
    return rows;
  };
  const [ring] = await all("house", "keys");
  const entries = [];
  for (const { tablet_seq, event_id, iv, sealed } of await all("outbox", "events")) {
    const additionalData = new TextEncoder().encode(`${tablet_seq}|${event_id}`);
    const how = { name: "AES-GCM", iv, additionalData };
    const clear = await crypto.subtle.decrypt(how, ring.seal, sealed);
    const row = JSON.parse(new TextDecoder().decode(clear));
    if (row.record_id !== record_id) continue;
    const binary = String.fromCharCode(...new Uint8Array(sealed));
    const coded = btoa(binary).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
    entries.push({ payload: row.item.payload, coded });
  }
  const root = await navigator.storage.getDirectory();
  const files = async (name) => {
    const found = [];
    const walk = async (folder) => {
      for await (const handle of folder.values()) {
        if (handle.kind === "directory") await walk(handle);
        else found.push({ name: handle.name, text: await (await handle.getFile()).text() });
      }
    };
    await walk(await root.getDirectoryHandle(name, { create: true }));
    return found;
  };
  const all_shots = await all("photographs", "photographs");
  const shots = all_shots.filter((one) => one.record_id === record_id);
  const copies = (await files("second-pictures")).filter((one) => one.name.endsWith(record_id));
  const copied = (await files("second-copy")).map((one) => one.text).join("");
  return { entries, copied, pictures: shots.length + copies.length };
}"""


@pytest.fixture
def desk_of(server, browser: Browser):
    """Return a function: a desk at which somebody is signed in."""
    contexts = []

    def sign_in(key: str) -> Page:
        contexts.append(new_context(browser, server, viewport=TABLET_SIZE))
        page = contexts[-1].new_page()
        page.goto("/#/desk")
        acts.desk_sign_in(page, key)
        return page

    yield sign_in
    for context in contexts:
        context.close()


def recorded(tablet: Page) -> str:
    """Record a procedure with a photograph on the tablet and sign it; return its id."""
    acts.plan_from_preset(tablet, "Frenum, fine")
    acts.open_case(tablet, chart=CHART, initials="ER")
    acts.answer_timeout(tablet)
    tablet.get_by_test_id("case-photographs").click()
    take(tablet, pictures.jpeg())
    tablet.get_by_test_id("photo-caption-before").check()
    tablet.get_by_test_id("photo-keep").click()
    expect(where(tablet)).to_contain_text("On the server", timeout=acts.ARRIVES_MS)
    record_id = tablet.url.split("/case/")[1].split("/")[0]
    to(tablet, f"#/case/{record_id}")
    acts.end_and_sign(tablet, DENTIST)
    acts.all_sent(tablet)
    return record_id


def asked_for(desk: Page, record_id: str) -> None:
    """Ask for the record to be erased."""
    to(desk, f"#/records/{record_id}")
    desk.get_by_test_id("desk-erase").click()
    expect(desk.get_by_test_id("erase-lost")).to_contain_text("1 photograph")
    # A reason is asked for, at each field.
    desk.get_by_test_id("erase-ask").click()
    for name in ("citation", "reason", "override"):
        expect(desk.get_by_test_id(f"erase-{name}-wrong")).to_be_visible()
    desk.get_by_test_id("erase-citation").fill(CITATION)
    desk.get_by_test_id("erase-reason").fill("Asked for in writing")
    desk.get_by_test_id("erase-override").fill("Nothing of it was ever billed")
    acts.touch_elsewhere(desk)
    desk.get_by_test_id("erase-ask").click()
    expect(desk.get_by_test_id("erase-course")).to_contain_text(CITATION)
    # Who asked does not decide as well.
    expect(desk.get_by_test_id("erase-deciding")).to_contain_text("Another person")
    expect(desk.get_by_test_id("erase-now")).to_have_count(0)


def decided(desk: Page, record_id: str) -> list[str]:
    """Let it go, after having read what is lost; return what the looking found wrong."""
    to(desk, f"#/records/{record_id}/erase")
    expect(desk.get_by_test_id("erase-now")).to_be_disabled()
    wrong = looking.look(desk, "erasing, to be decided")
    desk.get_by_test_id("erase-read").check()
    desk.get_by_test_id("erase-now").click()
    expect(desk.get_by_test_id("erase-course")).to_contain_text("was erased by")
    to(desk, f"#/records/{record_id}")
    expect(desk.get_by_test_id("record-status")).to_have_text("Erased")
    expect(desk.get_by_test_id("record-erased")).to_contain_text(CITATION)
    # No paper of it is offered, and nothing of what it said.
    expect(desk.get_by_test_id("desk-record-pdf")).to_have_count(0)
    expect(desk.locator("main")).not_to_contain_text(CHART)
    wrong += looking.look(desk, "an erased record")
    to(desk, "#/practice/erasures")
    expect(desk.get_by_test_id("erasures")).to_contain_text(CITATION)
    return wrong + looking.look(desk, "what was erased")


def test_two_people_erase_a_record_and_its_tablet_lets_go_of_it(server, tablet: Page, desk_of):
    acts.enrol(tablet, server.new_code(), "Tablet that forgets")
    acts.sign_in(tablet, DENTIST)
    record_id = recorded(tablet)
    before = tablet.evaluate(HELD, record_id)
    said = [one["payload"] for one in before["entries"]]
    assert any(CHART in one for one in said) and before["pictures"] > 0
    assert all(one["coded"] in before["copied"] for one in before["entries"])

    asked_for(desk_of(DENTIST), record_id)
    wrong = decided(desk_of(MANAGER), record_id)

    acts.make_contact(tablet)
    to(tablet, f"#/records/{record_id}")
    erased = tablet.get_by_test_id("record-erased")
    expect(erased).to_contain_text(CITATION, timeout=acts.ARRIVES_MS)
    expect(tablet.locator("main")).not_to_contain_text(CHART)

    def gone(now: dict) -> bool:
        return (
            {one["payload"] for one in now["entries"]} == {"{}"}
            and len(now["entries"]) == len(said)
            and not any(one["coded"] in now["copied"] for one in before["entries"])
            and now["pictures"] == 0
        )

    acts.until(tablet, lambda: tablet.evaluate(HELD, record_id), gone, "the tablet to let go of it")
    assert not wrong, "\n".join(wrong)

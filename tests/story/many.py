"""Fills a tablet with thousands of procedures, as a busy year would, without waiting for one.

The tablet's own sealed entries and records are read in the page, copied under other ids and
sealed again with the tablet's own keys, so that the app finds what it would have written itself.
The tablet must be offline afterwards: the server knows nothing of the copies.
"""

from pathlib import Path

from playwright.sync_api import Page

from api.people import tablets
from tests.story import acts
from tests.story.served import served_record
from tests.story.serving import Server

FILL = Path(__file__).with_name("fill_tablet.js").read_text()


def fill(server: Server, page: Page, chart: str, count: int) -> int:
    """Add ``count`` own procedures and as many pulled records, each like the signed one under
    ``chart``; answers how many entries each has."""
    # The server's own copy of the record is what the others are made like.
    acts.kept(page, "records", served_record(server, chart)["record_id"])
    acts.go_offline(page)
    tablet_id = acts.kept(page, "identity", "tablet")["tablet_id"]
    view_key = tablets.view_key(server.key(), tablet_id)
    return page.evaluate(FILL, [chart, count, view_key])

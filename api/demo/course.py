"""What happens in a demo case beside its passes: protection, a pause, a photograph."""

import hashlib
from collections.abc import Callable, Mapping
from typing import Any

from api.clock import SteppedClock, rfc3339
from api.demo import drawing
from api.demo.tablet_client import TabletClient

SECONDS_TO_TAKE = 15

Record = Callable[[str, str, Mapping[str, Any]], Any]


def protection(said: Mapping[str, Any], names: Mapping[str, str]) -> dict[str, Any]:
    """Return what was noted of people's protection; a wearer who is on the staff by name."""
    return {
        **said,
        "eyewear": [
            {**one, "wearer": names.get(one["wearer"], one["wearer"])} for one in said["eyewear"]
        ],
    }


def pause(
    clock: SteppedClock,
    record: Record,
    answer: Callable[[], None],
    record_id: str,
    said: Mapping[str, Any],
) -> None:
    """Pause for as long as the fixture says, and answer the list of a pause meanwhile."""
    record("procedure.paused", record_id, {"reason": said["reason"]})
    answer()
    clock.advance(said["seconds"])
    record("procedure.resumed", record_id, {})


def photograph(
    clock: SteppedClock, tablet: TabletClient, record: Record, record_id: str, caption: str
) -> None:
    """Take a photograph, which here is a drawing, and hand it in behind its entry."""
    clock.advance(SECONDS_TO_TAKE)
    content = drawing.draw()
    width_px, height_px = drawing.SIZE_PX
    sha256 = hashlib.sha256(content).hexdigest()
    payload = {
        "attachment_id": tablet.new_id(),
        "kind": "photograph",
        "sha256": sha256,
        "media_type": "image/jpeg",
        "size_bytes": len(content),
        "width_px": width_px,
        "height_px": height_px,
        "caption": caption,
        "taken_at": rfc3339(tablet.now()),
    }
    record("attachment.added", record_id, payload)
    tablet.push()
    tablet.ask("PUT", f"/attachments/{sha256}", content)

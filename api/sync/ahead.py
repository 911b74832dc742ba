"""What can be said of a push's items before anything is locked."""

from collections.abc import Iterator, Sequence
from datetime import datetime

from api.events import chain, parse, signing
from api.storage.rows import utc_text
from api.sync import judge
from api.sync.protocol import Item


class Ahead:
    """What a batch's items say and whether they are signed, by their texts and a key alone.

    ``received_at`` is when they came, and ``foreseen`` what can be made of them by themselves.
    """

    def __init__(
        self,
        items: Sequence[Item],
        public_key: str | None,
        *,
        received_at: datetime,
        projectors: judge.Projectors,
    ) -> None:
        self._key = public_key
        # By which object it is: two items of a batch may bear one id.
        self._parsed = {id(item): judge.read_item(item) for item in items}
        self._signed = {id(item): self._holds(item, public_key) for item in items if public_key}
        self.received_at = received_at
        self.foreseen = judge.foresee(projectors, list(self._readable(items)))

    def parsed(self, item: Item) -> parse.Parsed:
        """Return the item's texts as read."""
        return self._parsed[id(item)]

    def is_signed(self, item: Item, public_key: str) -> bool:
        """Say whether the owner of ``public_key`` signed the item."""
        if public_key == self._key:
            return self._signed[id(item)]
        return self._holds(item, public_key)

    def _readable(self, items: Sequence[Item]) -> Iterator[dict]:
        """Yield as entries those with which nothing is wrong."""
        received_text = utc_text(self.received_at)
        for item in items:
            parsed = self.parsed(item)
            if parsed.reason is None:
                yield {
                    "event_id": item.event_id,
                    "body": parsed.body,
                    "payload": parsed.payload,
                    "body_hash": chain.sha256(item.body).hex(),
                    "received_at": received_text,
                }

    @staticmethod
    def _holds(item: Item, public_key: str) -> bool:
        return signing.verify(public_key, item.body, item.signature)

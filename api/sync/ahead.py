"""What can be said of a push's items before anything is locked."""

from collections.abc import Sequence

from api.events import parse, signing
from api.sync import judge
from api.sync.protocol import Item


class Ahead:
    """What a batch's items say and whether they are signed, by their texts and a key alone."""

    def __init__(self, items: Sequence[Item], public_key: str | None) -> None:
        self._key = public_key
        # By which object it is: two items of a batch may bear one id.
        self._parsed = {id(item): judge.read_item(item) for item in items}
        self._signed = {id(item): self._holds(item, public_key) for item in items if public_key}

    def parsed(self, item: Item) -> parse.Parsed:
        """Return the item's texts as read."""
        return self._parsed[id(item)]

    def is_signed(self, item: Item, public_key: str) -> bool:
        """Say whether the owner of ``public_key`` signed the item."""
        if public_key == self._key:
            return self._signed[id(item)]
        return self._holds(item, public_key)

    @staticmethod
    def _holds(item: Item, public_key: str) -> bool:
        return signing.verify(public_key, item.body, item.signature)

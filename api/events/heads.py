"""A signed head: the server's word that a location's log has this link at this position. Pure."""

from collections.abc import Mapping

from api.events import build, signing


def sign_head(server_key: signing.PrivateKey, location: Mapping, *, at: str) -> dict:
    """Return {text, signature}: where a location's log ends, in the server's word.

    ``location`` has epoch, location_id, position and link [bytes].
    """
    text = build.to_text(
        {
            "epoch": location["epoch"],
            "location_id": location["location_id"],
            "position": location["position"],
            "link": location["link"].hex(),
            "at": at,
        }
    )
    return {"text": text, "signature": signing.sign(server_key, text)}

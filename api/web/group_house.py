"""What the group's side of this server works with, out of what the application has."""

from api.group.house import House
from api.web.context import context


def get() -> House:
    """Return it for this request."""
    house = context()
    return House(
        engine=house.engine,
        clock=house.clock,
        random=house.random,
        server_key=house.server_key,
        projectors=house.projectors,
    )

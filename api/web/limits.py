"""How often one address, or one tablet, may ask for what is guessed at or costs time."""

import ipaddress
from dataclasses import dataclass
from datetime import timedelta

from flask import request

from api.clock import parse_rfc3339, rfc3339
from api.errors import TooMany
from api.storage import asked
from api.storage.engine import write
from api.web.context import context


@dataclass(frozen=True, kw_only=True)
class Limit:
    """At most ``times`` requests in ``window`` from one address, or one tablet.

    ``shares``: where a write to disk for each request would cost more than the answer, a process
    takes the limit from the database in this many equal parts, so that one address costs no more
    writes in a window, whatever its limit is. None, where each request counts by itself.
    """

    what: str
    times: int
    window: timedelta = timedelta(minutes=1)
    by_tablet: bool = False
    shares: int | None = None

    def lease(self, times: int) -> int:
        """Return how many of ``times`` a process takes at once."""
        return 1 if self.shares is None else max(1, times // self.shares)


# No source but judgement: a practice with twenty tablets and ten desks behind one address does not
# meet them, a program that guesses does. What stops guesses at one person is counted by person.
PASSWORD = Limit(what="password", times=60)
PIN = Limit(what="pin", times=30, by_tablet=True)
ENROL = Limit(what="enrol", times=10)
LINK = Limit(what="link", times=60)
# A practice sends batch after batch when it has been away for weeks.
GROUP = Limit(what="group", times=1200, shares=30)
PROOF = Limit(what="tablet_proof", times=600, shares=60)
DOSE = Limit(what="dose", times=1200, shares=30)
PROVENANCE = Limit(what="provenance", times=120, shares=24)
HEAT = Limit(what="heat", times=120, shares=24)


def check(limit: Limit, *, tablet_id: str | None) -> None:
    """Count this request. Raises ``TooMany`` too_often (fact ``until``) when it is one too many."""
    house = context()
    times = limit.times * house.settings.limit_factor
    who = tablet_id if limit.by_tablet and tablet_id else _address()
    key, now = (limit.what, who), house.clock.now()
    lease = limit.lease(times)
    if lease > 1 and house.leases.use(key, now=now):
        return
    with write(house.engine) as connection:
        counted = asked.count(
            connection, limit.what, who, window=limit.window, now=now, times=lease
        )
    until = parse_rfc3339(counted["began_at"]) + limit.window
    # The lease that reaches beyond the limit is still good for the part before it.
    granted = min(lease, times - (counted["times"] - lease))
    if granted < 1:
        raise TooMany("too_often", "Too many requests. Wait a little.", until=rfc3339(until))
    if lease > 1:
        house.leases.put(key, granted - 1, until=until)


def _address() -> str:
    """Return who asks; of IPv6 the network, since one line has more addresses than can be counted.

    Behind a proxy this is the browser's own address only if the setting says how many there are.
    """
    text = request.remote_addr or "unknown"
    try:
        address = ipaddress.ip_address(text)
    except ValueError:
        return text
    if address.version == 6 and address.ipv4_mapped is None:
        return str(ipaddress.ip_network((address, 64), strict=False))
    return str(getattr(address, "ipv4_mapped", None) or address)

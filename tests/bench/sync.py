"""What the log costs: pushes and pulls beside other ways to keep the same bodies, and how it grows.

`bash deploy/bench sync` runs this. Whatever is compared is asked by turns in one run, so that what
else the machine does falls on both; the figures are ratios.
"""

import hashlib
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from api.events import chain
from tests.bench import growing, others, pushes
from tests.bench.figures import Figure, show

LINKS, LINK_ROUNDS = 20_000, 9


def links() -> Iterator[Figure]:
    """Links checked a second, against plain SHA-256 of the same bytes."""
    texts = [
        (f'{{"position":{n},"said":"{"h" * 400}"}}', f'{{"seq":{n},"said":"{"b" * 500}"}}')
        for n in range(LINKS)
    ]
    plain = [(header + body).encode() for header, body in texts]
    ratios = []
    for _ in range(LINK_ROUNDS):
        began = time.perf_counter()
        for one in plain:
            hashlib.sha256(one).digest()
        between = time.perf_counter()
        link = chain.FIRST_LINK
        for header, body in texts:
            link = chain.link(
                previous=link, header_hash=chain.sha256(header), body_hash=chain.sha256(body)
            )
        ratios.append((between - began) / (time.perf_counter() - between))
    yield Figure(
        name="sync.verify.vs_sha256", value=statistics.median(ratios), unit="1", want=">=0.1",
        detail={"links": LINKS, "rounds": LINK_ROUNDS},
    )  # fmt: skip


def main() -> int:
    show(links())
    for measure in (pushes.figures, others.figures, growing.figures):
        with tempfile.TemporaryDirectory() as folder:
            show(measure(Path(folder)))
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""Pass the lines of a bench on; exit with 1 where a figure is not what is wanted, and name it.

`bash deploy/bench pwa | .venv/bin/python -m tests.bench.budgets`. The bench itself measures and
leaves the judgement to others.
"""

import json
import sys
from collections.abc import Iterable

from tests.bench.figures import kept


def missed(lines: Iterable[str]) -> list[str]:
    """Each figure that is not what is wanted, in words; no figure at all is a miss too."""
    wrong, seen = [], False
    for line in lines:
        print(line, end="", flush=True)
        figure, seen = json.loads(line), True
        if not kept(figure["value"], figure["want"]):
            wrong.append(f"{figure['name']}: {figure['value']}, wanted {figure['want']}")
    return wrong if seen else ["no figure was measured"]


def main() -> int:
    wrong = missed(sys.stdin)
    for words in wrong:
        print(f"Missed: {words}", file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

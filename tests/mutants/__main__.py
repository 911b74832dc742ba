"""Breaks the dose engine on purpose, a little at a time, and counts what its tests see.

`.venv/bin/python -m tests.mutants` mutates every module of api/dose with mutmut, in a copy, and
prints the score of each; `python -m tests.mutants emission tissue hazard.limits` only these. Ends
with 1 where a module is below 90 %, or where a reason in `explained.json` is for a mutant that is
not made any more or is seen by now; the last line is the score of all that was asked for.
`--sample 40` runs 40 mutants of each module at most, always the same ones, and says so. Survivors
that no test can see stand with their reason in `explained.json`; the others are printed as they
were made.
"""

import argparse
import shutil
import sys
import tempfile
from pathlib import Path

from tests.mutants.judge import Score, explained, is_enough, line, score, whole
from tests.mutants.making import GROUPS, modules, mutate

ROOT = Path(__file__).parents[2]


def main() -> int:
    reader = argparse.ArgumentParser(prog="python -m tests.mutants")
    reader.add_argument("modules", nargs="*", help="as emission or hazard.limits; all without any")
    reader.add_argument("--quiet", action="store_true", help="scores only, no survivors")
    reader.add_argument("--at-once", type=int, default=1, help="how many mutants run side by side")
    reader.add_argument("--sample", type=int, help="so many mutants of each module at most")
    asked = reader.parse_args()
    wanted = asked.modules or modules(ROOT)
    if unknown := set(wanted) - set(modules(ROOT)):
        reader.error(f"no such module of api/dose: {', '.join(sorted(unknown))}")
    reasons = explained()
    scores: list[Score] = []
    for group in GROUPS:
        chosen = [name for name in wanted if group.holds(name)]
        if not chosen:
            continue
        folder = Path(tempfile.mkdtemp(prefix="mutants-"))
        try:
            ways = {"at_once": asked.at_once, "sample": asked.sample}
            for module, made, mutants in mutate(ROOT, folder, group, chosen, **ways):
                found = score(module, mutants, reasons, made=made)
                scores.append(found)
                print(line(found), flush=True)
                if not asked.quiet:
                    for survivor in found.unexplained:
                        print(f"  {survivor.name}\n    - {survivor.before}\n    + {survivor.after}")
                for function, before, after in found.stale:
                    print(f"  no survivor any more: {function}\n    - {before}\n    + {after}")
        finally:
            shutil.rmtree(folder)
    low = [one.module for one in scores if not is_enough(one)]
    if low:
        print(f"Below 90 %: {', '.join(low)}", file=sys.stderr)
    stale = whole(scores).stale
    if stale:
        print(f"{len(stale)} in explained.json are no survivors any more", file=sys.stderr)
    print(line(whole(scores)))
    return 1 if low or stale else 0


if __name__ == "__main__":
    sys.exit(main())

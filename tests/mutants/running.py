"""Runs tests on mutants within one process: collected once, a fork for each mutant.

`python -m tests.mutants.running ASKED ANSWER` in the copy that holds the mutants; ASKED and ANSWER
are files of JSON. Each mutant meets only the tests that reach its function, the one that saw the
last mutant there first. A mutant that needs much more time than those tests took without one was
seen: it would have been noticed. That is the processor's time of its own fork, which a busy machine
does not use up, and such mutants are named in the answer. A fork that somebody else killed (the
machine ran out of memory) says nothing: it runs again. What is called while modules are imported
(tables, schemas) is looked at again with all modules imported anew.
"""

import gc
import json
import os
import resource
import signal
import sys
from collections import defaultdict
from pathlib import Path
from time import process_time

import pytest
from _pytest.runner import runtestprotocol

from tests.mutants import switch

# So many times what its tests take without a mutant, and so many seconds at the least.
PATIENCE, SECONDS = 5, 3
# A mutant that never ends a list would take all there is, long before its time is over.
MEMORY = 2 << 30
_PASSED, _FAILED = 0, 1
_BY_OTHERS = (signal.SIGKILL, signal.SIGTERM)
# Changes nothing: whoever sees it sees the way of running, and no score means anything.
NOBODY = "api.dose.x_nobody__mutmut_0"
# Their caches hold files and units, which no mutant changes, and are dear to fill.
_KEPT = ("api.dose.constants", "api.dose.hazard.constants", "api.dose.quantity")


def _own_modules() -> list[str]:
    return [name for name in sys.modules if name.split(".")[0] == "api"
            or name.startswith("tests.dose")]  # fmt: skip


def _forget() -> None:
    """Empty every cache of the engine: what it holds was worked out without the mutant."""
    for name in _own_modules():
        for value in vars(sys.modules[name]).values():
            clear = getattr(value, "cache_clear", None)
            if callable(clear) and value.__module__ not in _KEPT:
                clear()


def _function(mutant: str) -> str:
    return mutant.rpartition("__mutmut_")[0]


def _limit(seconds: float) -> None:
    for kind, most in ((resource.RLIMIT_CPU, int(seconds) + 1), (resource.RLIMIT_AS, MEMORY)):
        _, hard = resource.getrlimit(kind)
        resource.setrlimit(kind, (most, hard))


class Runner:
    """A pytest plugin in whose place of the usual loop the mutants are run."""

    def __init__(self, mutants: list[str], at_once: int) -> None:
        self.mutants, self.at_once = mutants, at_once
        self.seen: dict[str, bool] = {}
        self.by_time: list[str] = []
        self.failed: list[str] = []
        self._items: list[pytest.Item] = []
        self._seconds: list[float] = []
        self._reaching: defaultdict[str, set[int]] = defaultdict(set)
        self._at_import: set[str] = set()
        self._saw: dict[str, list[int]] = defaultdict(list)

    def pytest_collection_finish(self, session: pytest.Session) -> None:
        self._items = list(session.items)
        self._at_import = set(switch.called)

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        for place, item in enumerate(self._items):
            switch.turn("")
            _forget()
            start = process_time()
            if not self._passes(place):
                self.failed.append(item.nodeid)
            self._seconds.append(process_time() - start)
            for name in switch.called:
                self._reaching[name].add(place)
        if not self.failed:
            gc.collect()
            gc.freeze()
            self._run_all()
        return True

    def _passes(self, place: int) -> bool:
        # Everything is taken down after each test, as any other may follow.
        reports = runtestprotocol(self._items[place], nextitem=None, log=False)
        return all(report.passed or report.skipped for report in reports)

    def _order(self, function: str) -> list[int]:
        reaching = self._reaching[function]
        known = [place for place in self._saw[function] if place in reaching]
        rest = sorted(reaching.difference(known), key=lambda place: self._seconds[place])
        return known + rest

    def _run_all(self) -> None:
        running: dict[int, tuple[str, int]] = {}
        waiting = [*reversed(self.mutants), NOBODY]
        while waiting or running:
            if not waiting or len(running) >= self.at_once:
                waiting.extend(self._wait(running))
                continue
            name = waiting.pop()
            function = _function(name)
            if name == NOBODY:
                self._reaching[function] = set(range(len(self._items)))
            tests = self._order(function)
            seconds = PATIENCE * sum(self._seconds[place] for place in tests) + SECONDS
            again = name == NOBODY or function in self._at_import
            read, write = os.pipe()
            pid = os.fork()
            if pid == 0:
                os.close(read)
                _limit(seconds)
                self._child(name, tests, again, write)
            os.close(write)
            running[pid] = (name, read)

    def _wait(self, running: dict[int, tuple[str, int]]) -> list[str]:
        """Wait for one fork to end; return its mutant if it has to run again."""
        pid, status = os.wait()
        name, read = running.pop(pid)
        with os.fdopen(read) as pipe:
            saw = pipe.read()
        ended_by = os.WTERMSIG(status) if os.WIFSIGNALED(status) else None
        if ended_by in _BY_OTHERS:
            print(f"{name} was killed by somebody else: once more")
            return [name]
        self.seen[name] = status != 0
        if ended_by == signal.SIGXCPU:
            self.by_time.append(name)
        how = "lives" if not status else "seen by time" if name in self.by_time[-1:] else "seen"
        print(f"{len(self.seen)} of {len(self.mutants) + 1}: {name} {how}")
        if saw:
            first = self._saw[_function(name)]
            place = int(saw)
            if place in first:
                first.remove(place)
            first.insert(0, place)
        return []

    def _child(self, name: str, tests: list[int], again: bool, write: int) -> None:
        code = _FAILED
        try:
            switch.turn(name)
            _forget()
            code = _PASSED
            for place in tests:
                if not self._passes(place):
                    os.write(write, str(place).encode())
                    code = _FAILED
                    break
            if code == _PASSED and again:
                code = self._imported_anew()
        except BaseException:
            code = _FAILED
        finally:
            os._exit(code)

    def _imported_anew(self) -> int:
        _limit(PATIENCE * (process_time() + sum(self._seconds)) + SECONDS)
        files = list(dict.fromkeys(str(item.path) for item in self._items))
        for module in _own_modules():
            del sys.modules[module]
        gc.unfreeze()
        return _FAILED if pytest.main([*_ARGUMENTS, "-x", *files]) else _PASSED


_ARGUMENTS = ["-q", "-s", "-p", "no:cacheprovider", "-p", "no:xdist", "--tb=no"]


def main(asked: Path, answer: Path) -> None:
    wanted = json.loads(asked.read_text(encoding="utf-8"))
    _ARGUMENTS.extend(["-k", wanted["chosen"]])
    runner = Runner(wanted["mutants"], wanted["at_once"])
    pytest.main([*_ARGUMENTS, *wanted["tests"]], plugins=[runner])
    if runner.seen.pop(NOBODY, False):
        runner.failed.append("a run without a mutant")
    said = {"seen": runner.seen, "by_time": runner.by_time, "failed": runner.failed}
    answer.write_text(json.dumps(said), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))

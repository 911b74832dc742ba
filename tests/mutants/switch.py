"""Stands where a mutated module calls its functions: the written one, or the mutant that is on.

Takes the place of mutmut's own switch in what it generates, as that one looks into the environment
at each call: the tests of the engine took twenty times as long with it.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any

MutantDict = dict
_switches: list["_Switch"] = []
# The mutant that is on, as api.dose.emission.x_off_time_s__mutmut_2; the functions called so far.
_on = ""
called: set[str] = set()


class _Switch:
    def __init__(self, mutants: dict[str, Callable], function: Callable) -> None:
        self.mutants, self.module = mutants, function.__module__
        self.target: Callable[..., Any] | None = None
        _switches.append(self)

    def choose(self) -> Callable[..., Any]:
        """Find what is to be called now, until the next turn."""
        written = self.mutants["_mutmut_orig"]
        called.add(f"{self.module}.{written.__name__.removesuffix('__mutmut_orig')}")
        module, _, name = _on.rpartition(".")
        self.target = self.mutants.get(name, written) if module == self.module else written
        return self.target


def wrap_in_trampoline(mutants: dict[str, Callable], is_classmethod: bool = False) -> Callable:
    """Return the decorator that mutmut puts on each function it has broken."""
    if is_classmethod:
        raise NotImplementedError("class methods are not broken here")

    def wrap(function: Callable) -> Callable:
        switch = _Switch(mutants, function)

        @wraps(function)
        def call(*args: Any, **named: Any) -> Any:
            return (switch.target or switch.choose())(*args, **named)

        return call

    return wrap


def turn(name: str) -> None:
    """Put a mutant on, or none (""), and count anew what is called."""
    global _on
    _on = name
    called.clear()
    for switch in _switches:
        switch.target = None

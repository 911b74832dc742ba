"""Steps of an evaluation, none of which is worked out twice with the same arguments."""

from collections.abc import Callable, Mapping
from typing import NamedTuple, TypeVar

T = TypeVar("T")


class Result(NamedTuple):
    """A result in SI units, and the dotted name of the function it came from, or "given"."""

    value_si: float
    formula: str

    @property
    def ends(self) -> tuple[float, float]:
        """Both ends of it as a range."""
        return self.value_si, self.value_si


class Band(NamedTuple):
    """A result that is a range in SI units, and where it came from, or "literature"."""

    low_si: float
    high_si: float
    formula: str

    @property
    def ends(self) -> tuple[float, float]:
        """Its low and its high end."""
        return self.low_si, self.high_si


Results = Mapping[str, Result | Band]


class Steps:
    """The steps of the evaluations of one request, each as it was worked out first.

    The evaluations differ little from one another.
    """

    def __init__(self) -> None:
        self._done: dict[str, tuple[object, object]] = {}

    def once(self, name: str, key: object, work: Callable[[], T]) -> T:
        """Return what ``work`` gives, or gave for the same key."""
        done = self._done.get(name)
        if done is None or done[0] != key:
            done = (key, work())
            self._done.setdefault(name, done)
        return done[1]

    def result(
        self,
        name: str,
        formula: str,
        function: Callable[..., float | tuple[float, float]],
        arguments: Mapping[str, float],
    ) -> Result | Band:
        """Return the result of a function with these arguments; a band if it gives two ends."""
        done = self._done.get(name)
        if done is None or done[0] != arguments:
            value = function(**arguments)
            pair = isinstance(value, tuple)
            done = (arguments, Band(*value, formula) if pair else Result(value, formula))
            self._done.setdefault(name, done)
        return done[1]

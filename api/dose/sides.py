"""The two sides of a dose: what the panel's power does, and what arrives of it.

A side can be worked out again with one input changed, for the uncertainty of its results.
"""

from collections.abc import Mapping
from typing import NamedTuple

from api.dose.arrival import Delivery, delivered_fraction, stated_beside
from api.dose.emitted import solve_again
from api.dose.request import DoseInput, settle, with_value
from api.dose.results import delivered_values, emitted_results, in_order, work_out
from api.dose.solver import Known
from api.dose.spot import Spot, spot_from
from api.dose.steps import Result, Results, Steps


class Side(NamedTuple):
    """One side: what it rests on, its results in the contract's order, and their steps.

    ``delivery`` is by what the power arrives, None at the panel. ``refused`` are the fields that
    contradict each other.
    """

    given: DoseInput
    known: Mapping[str, Known]
    refused: frozenset[str]
    delivery: Delivery | None
    emitted: Mapping[str, Result]
    results: Results
    steps: Steps

    def spot_with(self, name: str, value: float) -> Spot:
        """Return the spot with another value of one of its fields."""
        stated = {**self.given.stated["spot"], name: value}
        return spot_from(stated, wavelength_m=self.given.wavelength_m)

    def moved(self, path: str, value: float) -> Results:
        """Return the results with another value of one input, in no order of meaning.

        One that does not rest on the input may be the very same object.
        """
        part, _, name = path.rpartition(".")
        steps = self.steps
        if part == "tissue":
            given = self.given._replace(tissue={**self.given.tissue, name: value})
            return work_out(given, self.emitted, steps)
        if part == "spot":
            given = self.given._replace(spot=self.spot_with(name, value))
            return work_out(given, self.emitted, steps)
        if part == "delivery":
            delivery = {**self.delivery, name: value}
            emitted = emitted_results(self.given, _arriving(self.known, delivery))
            return {**work_out(self.given, emitted, steps), **stated_beside(delivery)}
        given = settle(with_value(self.given.stated, path, value), self.given.uncertainty)
        emitted = self.emitted
        if part == "emission":
            known = solve_again(given, refused=self.refused)
            emitted = emitted_results(given, _arriving(known, self.delivery))
        return work_out(given, emitted, steps)


def _arriving(known: Mapping[str, Known], delivery: Delivery | None) -> Mapping[str, Known]:
    """Return what of the emission arrives by a delivery; all of it at the panel."""
    if delivery is None:
        return known
    return delivered_values(known, fraction=delivered_fraction(delivery).value_si)


def panel_side(given: DoseInput, known: Mapping[str, Known], *, refused: frozenset[str]) -> Side:
    """Return the side of the set power."""
    steps, emitted = Steps(), emitted_results(given, known)
    results = in_order(work_out(given, emitted, steps))
    return Side(given, known, refused, None, emitted, results, steps)


def delivered_side(panel: Side) -> Side | None:
    """Return the side of what arrives, or None with neither a verified ratio nor a chain."""
    given, delivery = panel.given, panel.given.delivery
    if delivered_fraction(delivery) is None:
        return None
    emitted = emitted_results(given, _arriving(panel.known, delivery))
    results = in_order(work_out(given, emitted, panel.steps)) | stated_beside(delivery)
    return Side(given, panel.known, panel.refused, delivery, emitted, results, panel.steps)

"""How a simulation is stepped through: as fine as wanted, or coarser so that it stays short."""

from dataclasses import dataclass
from math import inf

from api.dose.constants import number
from api.dose.heat_model import Medium
from api.dose.heat_train import Train, averaged, pulse_count, steps, stretches
from api.dose.heating import diffusion_length_m

FINE, COARSE, MEAN = "fine", "fewer steps", "mean power"
_COARSE_IN_PULSE, _COARSE_GROWTH = 6.0, 2.0


@dataclass(frozen=True)
class Plan:
    """A train on a medium with the resolution it gets."""

    medium: Medium
    train: Train
    area_m2: float
    duration_s: float
    resolution: str

    @property
    def in_pulse(self) -> float:
        """Steps in a pulse at least."""
        fine = self.resolution == FINE
        return number("HEAT_STEPS_IN_PULSE") if fine else _COARSE_IN_PULSE

    @property
    def growth(self) -> float:
        """Ratio of successive steps."""
        return number("HEAT_STEP_GROWTH") if self.resolution == FINE else _COARSE_GROWTH

    @property
    def diffusivity_m2_s(self) -> float:
        """Thermal diffusivity of the medium."""
        return self.medium.conductivity_w_m_k / self.medium.heat_capacity_j_m3_k

    def steps_of(self, stretch_s: float, irradiance_w_m2: float) -> list[float]:
        """Return the steps through a stretch of one irradiance.

        Heat that is just absorbed spreads within 1/(kappa mu_a^2), which the first step divides;
        while the beam is on, a step removes half a surface cell at most, as far as four times the
        least number of steps allows.
        """
        absorption = self.medium.absorption_per_m
        first = 1 / (self.diffusivity_m2_s * absorption * absorption * self.in_pulse)
        if irradiance_w_m2 == 0:
            return steps(stretch_s, first_s=first, most_s=inf, growth=self.growth)
        removal = self.medium.removal_heat_j_m3 / (2 * absorption * irradiance_w_m2)
        usual = stretch_s / self.in_pulse
        least = usual / 4
        if stretch_s > number("HEAT_STEPS_IN_PULSE") * first:
            least = 0.0 if self.resolution == FINE else 4 * stretch_s / self._budget
        first = max(min(first, usual, removal), least)
        # However strong the beam: twice the budget is too many steps already, and no longer list.
        most = max(min(removal, usual), least, stretch_s / (2 * self._budget))
        return steps(stretch_s, first_s=first, most_s=most, growth=self.growth)

    @property
    def _budget(self) -> float:
        return number("HEAT_STEPS_AT_MOST")

    def affordable(self) -> bool:
        """Return whether the steps are few enough for an answer in good time."""
        if 2 * pulse_count(self.train, self.duration_s) > self._budget:
            return False
        lengths: dict[tuple[float, float], int] = {}
        total = 0
        for stretch in stretches(self.train, self.duration_s):
            key = (stretch.duration_s, stretch.power_w)
            if key not in lengths:
                lengths[key] = len(self.steps_of(key[0], key[1] / self.area_m2))
            total += lengths[key]
            if total > self._budget:
                return False
        return True

    def reach_m(self) -> float:
        """Return how deep the model has to be: for conduction, and for what one step removes."""
        spread = diffusion_length_m(diffusivity_m2_s=self.diffusivity_m2_s, time_s=self.duration_s)
        irradiance = self.train.power_w / self.area_m2
        lit = next(stretches(self.train, self.duration_s))
        longest = max(self.steps_of(lit.duration_s, irradiance))
        removed = longest * irradiance / self.medium.removal_heat_j_m3
        absorbed = 10 / self.medium.absorption_per_m
        return absorbed + number("HEAT_REACH") * spread + 2 * removed


def plan_for(*, medium: Medium, train: Train, area_m2: float, duration_s: float) -> Plan:
    """Return the finest plan that is affordable."""
    for resolution in (FINE, COARSE):
        plan = Plan(medium, train, area_m2, duration_s, resolution)
        if plan.affordable():
            return plan
    return Plan(medium, averaged(train), area_m2, duration_s, MEAN)

"""Heat in one dimension below an insulated surface: implicit finite volumes on enthalpy.

Each step is second order and L-stable (two stages, gamma = 1 - 1/sqrt 2) for conduction and the
absorbed beam; the heat it moves goes into the enthalpy of the cells, from which the temperature
follows: rising to boiling, resting there while the water boils off, rising again, and at the heat
of ablation the cell is removed. What a removed cell has too much goes to the next. So energy is
kept to rounding whatever the step.
"""

from dataclasses import dataclass
from math import exp, sqrt

import numpy as np

from api.dose.constants import number

GAMMA = 1 - 1 / sqrt(2)


@dataclass(frozen=True)
class Medium:
    """Tissue in SI units; heats are of a volume and count from the body's temperature."""

    conductivity_w_m_k: float
    heat_capacity_j_m3_k: float
    absorption_per_m: float
    boiling_heat_j_m3: float
    dry_heat_j_m3: float
    removal_heat_j_m3: float


def cell_sizes_m(absorption_per_m: float, reach_m: float) -> list[float]:
    """Return the sizes of the cells from the surface down to at least ``reach_m``.

    The first are a fixed part of the absorption depth, the deeper ones grow.
    """
    size = 1 / (number("HEAT_CELLS_PER_DEPTH") * absorption_per_m)
    sizes = [size] * int(number("HEAT_UNIFORM_CELLS"))
    depth = size * len(sizes)
    while depth < reach_m:
        size *= number("HEAT_GROWTH")
        sizes.append(size)
        depth += size
    return sizes


class Heat:
    """The state of the tissue: enthalpy and damage of each cell, counted from the surface."""

    def __init__(self, medium: Medium, sizes_m: list[float]) -> None:
        self.medium = medium
        self.sizes_m = np.array(sizes_m)
        self.edges_m = np.concatenate(([0.0], np.cumsum(self.sizes_m)))
        self.enthalpy_j_m3 = np.zeros(len(sizes_m))
        self.rise_k = np.zeros(len(sizes_m))
        self.damage = np.zeros(len(sizes_m))
        self.removed_m = 0.0
        self.absorbed_j_m2 = 0.0
        self._body_k = number("KELVIN_OF_ZERO") + number("BODY_TEMPERATURE")
        self._log_frequency = number("DAMAGE_LOG_FREQUENCY")
        self._activation_k = number("DAMAGE_ACTIVATION")
        self._damage_rate = self._rate()
        self._steps: dict[float, tuple[np.ndarray, np.ndarray]] = {}
        left = np.exp(-medium.absorption_per_m * self.edges_m)
        left[-1] = 0.0  # the rest is absorbed in the last cell
        self._warming_k_m2_j = -np.diff(left) / (self.sizes_m * medium.heat_capacity_j_m3_k)
        self._conduction = self._modes()

    def _modes(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return rates w and matrices V, V^-1 of the conduction dT/dt = V w V^-1 T.

        No heat passes either end. Divided by the roots of the cells' heat capacities the matrix is
        symmetric.
        """
        centres = (self.edges_m[:-1] + self.edges_m[1:]) / 2
        across = self.medium.conductivity_w_m_k / np.diff(centres)
        roots = np.sqrt(self.sizes_m * self.medium.heat_capacity_j_m3_k)
        leaving = np.append(across, 0.0) + np.append(0.0, across)
        matrix = np.diag(across, 1) + np.diag(across, -1) - np.diag(leaving)
        rates, vectors = np.linalg.eigh(matrix / np.outer(roots, roots))
        return rates, vectors / roots[:, None], vectors.T * roots

    def _matrices(self, step_s: float) -> tuple[np.ndarray, np.ndarray]:
        """Return R and p of rise' = R rise + irradiance p, for one length of step."""
        found = self._steps.get(step_s)
        if found is None:
            rates, modes, inverse = self._conduction
            z = rates * step_s
            stage = 1 / (1 - GAMMA * z)
            kept = (1 + (1 - 2 * GAMMA) * z) * stage * stage
            beam = step_s * stage * (1 - GAMMA + GAMMA * (1 + (1 - GAMMA) * z * stage))
            found = (
                (modes * kept) @ inverse,
                modes @ (beam * (inverse @ self._warming_k_m2_j)),
            )
            self._steps[step_s] = found
        return found

    def step(self, step_s: float, irradiance_w_m2: float) -> None:
        """Go on by one step under an even irradiance."""
        slope, beam = self._matrices(step_s)
        moved = slope @ self.rise_k - self.rise_k
        if irradiance_w_m2:
            moved += irradiance_w_m2 * beam
            self.absorbed_j_m2 += irradiance_w_m2 * step_s
        self.enthalpy_j_m3 += self.medium.heat_capacity_j_m3_k * moved
        if self.enthalpy_j_m3[0] >= self.medium.removal_heat_j_m3:
            self._remove()
        self.rise_k = self._rise()
        rate = self._rate()
        self.damage += step_s / 2 * (self._damage_rate + rate)
        self._damage_rate = rate

    def _remove(self) -> None:
        """Take cells off the surface that hold the heat of ablation; shift what is left."""
        limit = self.medium.removal_heat_j_m3
        heat = self.enthalpy_j_m3 * self.sizes_m
        count, excess = 0, 0.0
        while count < len(heat) and heat[count] + excess >= limit * self.sizes_m[count]:
            excess += heat[count] - limit * self.sizes_m[count]
            count += 1
        heat[:count] = 0.0
        if count < len(heat):
            heat[count] += excess
        shift = self.edges_m[count]
        self.removed_m += shift
        at = self.edges_m + shift
        self.enthalpy_j_m3 = self._between(heat, at)
        self.damage = self._between(self.damage * self.sizes_m, at)
        self._damage_rate = self._between(self._damage_rate * self.sizes_m, at)

    def _between(self, amounts: np.ndarray, edges_m: np.ndarray) -> np.ndarray:
        """Return the mean of an amount between new edges, nothing lying below the old ones."""
        below = np.concatenate(([0.0], np.cumsum(amounts)))
        return np.diff(np.interp(edges_m, self.edges_m, below)) / self.sizes_m

    def _rise(self) -> np.ndarray:
        m = self.medium
        wet = np.minimum(self.enthalpy_j_m3, m.boiling_heat_j_m3)
        dry = np.maximum(self.enthalpy_j_m3 - m.dry_heat_j_m3, 0.0)
        return (wet + dry) / m.heat_capacity_j_m3_k

    def _rate(self) -> np.ndarray:
        """Return how fast damage grows in each cell, as ``heating.damage_rate_per_s`` says."""
        return np.exp(self._log_frequency - self._activation_k / (self._body_k + self.rise_k))

    def surface_rise_k(self) -> float:
        """Return the rise at the surface, where the profile is level; boiling cells as they are."""
        first, second = float(self.rise_k[0]), float(self.rise_k[1])
        if self.enthalpy_j_m3[0] >= self.medium.boiling_heat_j_m3:
            return first
        return first + (first - second) / 8

    def held_j_m2(self) -> float:
        """Return the heat in the tissue that is left."""
        return float(np.dot(self.enthalpy_j_m3, self.sizes_m))

    def balance_error(self) -> float:
        """Return what is missing of the absorbed energy, as a part of it."""
        if self.absorbed_j_m2 == 0:
            return 0.0
        taken = self.removed_m * self.medium.removal_heat_j_m3
        return (self.held_j_m2() + taken - self.absorbed_j_m2) / self.absorbed_j_m2

    def depths_m(self) -> list[float]:
        """Return the depth of the middle of each cell below the present surface."""
        return [float(z) for z in (self.edges_m[:-1] + self.edges_m[1:]) / 2]


def depth_of_damage_m(depths_m: list[float], damage: list[float]) -> float:
    """Return the depth to which the damage is 1 or more, 0 where it is nowhere.

    Between two cells the logarithm of the damage is taken as straight.
    """
    if damage[0] < 1:
        return 0.0
    for place in range(1, len(damage)):
        if damage[place] < 1:
            above, below = np.log(damage[place - 1]), np.log(max(damage[place], exp(-700)))
            part = above / (above - below)
            span = depths_m[place] - depths_m[place - 1]
            return depths_m[place - 1] + float(part) * span
    return depths_m[-1]

"""Test cuts into damp paper: the depth that energy would give, and each cut as a check. Pure.

A cut says how a laser compares with itself, never how many watts leave it: how much of the heat
goes into steam, and how wide the cut is, depends on the paper and on whoever moves the handpiece.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from api.devices.charts import mean
from api.devices.trend_types import Check
from api.dose.quantity import NotAQuantity, to_si
from api.dose.tissue import cut_depth_m
from api.errors import BadInput

# Water from room temperature to steam: 4.19 J/(g K) over 75 to 80 K and 2256 J/g are 2.6 kJ/cm3;
# the design rounds to 2.5, which the comparison with the laser's own baseline cancels [J/m3].
WATER_HEAT_J_M3 = 2.5e9


def expected_depth_m(
    *, power_w: float, spot_diameter_m: float, length_m: float, time_s: float
) -> float:
    """Return the depth of one straight cut if all the power made steam of water.

    Parameters:
        power_w [W]: average power that the setting means
        spot_diameter_m [m]: spot on the paper
        length_m [m], time_s [s]: of the cut
    Returns: depth [m]
    Raises: BadInput if not above 0
    Equation: P / (h d v), v = length / time
    """
    if not time_s > 0:
        raise BadInput("not_positive", f"time_s is {time_s}, not above 0", field="time_s")
    return cut_depth_m(
        power_w=power_w,
        spot_diameter_m=spot_diameter_m,
        speed_m_s=length_m / time_s,
        ablation_heat_j_m3=WATER_HEAT_J_M3,
    )


def checks_of(reference: Mapping[str, Any], cuts: Iterable[Mapping[str, Any]]) -> list[Check]:
    """Return the cuts made by a set-up as checks: measured depth over expected depth.

    ``reference`` and ``cuts`` are documents. What cannot be read is left out: it says nothing.
    """
    found = []
    for cut in cuts:
        if cut["reference_id"] != reference["test_cut_reference_id"]:
            continue
        try:
            expected = expected_depth_m(
                power_w=to_si(reference["expected_average_power"], "W"),
                spot_diameter_m=to_si(reference["spot_diameter"], "m"),
                length_m=to_si(cut["cut_length"], "m"),
                time_s=to_si(cut["cut_time"], "s"),
            )
            depth = mean([to_si(one, "m") for one in cut["depths"]])
        except (BadInput, NotAQuantity):
            continue
        found.append(Check(check_id=cut["test_cut_id"], at=cut["done_at"], value=depth / expected))
    return found

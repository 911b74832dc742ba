"""The editions of the limits, and the directive's own rows where the shared table differs.

Both editions use the table of ICNIRP 2013. Edition 2006/25/EC is never less strict than the rows
that are given here.
"""

from math import inf

from api.dose.hazard.constants import number

ICNIRP_2013, EU_2006 = "ICNIRP 2013", "2006/25/EC"
EDITIONS = (ICNIRP_2013, EU_2006)


def short_retinal_j_m2(*, wavelength_m: float, exposure_time_s: float) -> float:
    """Return the directive's own limit of a short exposure of the retina, without correction.

    Parameters:
        wavelength_m [m]: of the light
        exposure_time_s [s]: how long the exposure lasts
    Returns: limit before C_A or C_C [J/m2]; infinite after these rows, where the tables agree
    Raises: nothing
    Valid for: 400 nm to 1400 nm, from 1 ns
    Equation: 0.005 until 18 us; from 1050 nm 0.05 until 50 us
    Not covered: exposures below 1 ns, which the edition does not offer
    Source: `directive2006`; the row from 1050 nm from memory
    """
    if wavelength_m * 1e9 < number("C_A_FLAT_FROM"):
        until_s, limit = number("RETINAL_2006_SHORT_UNTIL"), number("RETINAL_2006_SHORT")
    else:
        until_s, limit = number("RETINAL_2006_LONG_UNTIL"), number("RETINAL_2006_LONG")
    return limit if exposure_time_s < until_s else inf

"""What a stated spot diameter means: every diameter says which of its definitions it follows."""

from api.dose.constants import number
from api.dose.ranges import require_above_zero
from api.errors import BadInput

DIAMETER_DEFINITIONS = ("1/e2", "86.5 %", "63 %", "fwhm")


def spot_diameter_m(*, diameter_m: float, diameter_definition: str) -> float:
    """Return the 1/e2 diameter of a Gaussian spot whose diameter is stated another way.

    Parameters:
        diameter_m [m]: as stated
        diameter_definition [text]: 1/e2; 86.5 % (enclosed); 63 % (enclosed, which is 1/e); fwhm
    Returns: 1/e2 diameter [m]
    Raises: BadInput for another definition or a diameter not above 0
    Valid for: a Gaussian profile, for which 1/e2 and 86.5 % enclosed are the same diameter
        (enclosed part 1 - exp(-2 r^2/w^2), at r = w 0.8647, at r = w/sqrt 2 0.6321)
    Equation: d = d_1/e sqrt 2 = FWHM sqrt(2 / ln 2)
    Not covered: knife-edge and second-moment diameters of other profiles
    Source: `siegman1986`, derived from exp(-2 r^2/w^2)
    """
    require_above_zero(diameter_m=diameter_m)
    if diameter_definition not in DIAMETER_DEFINITIONS:
        raise BadInput(
            "unknown_definition",
            f"diameter_definition is {diameter_definition!r}",
            field="diameter_definition",
        )
    if diameter_definition == "63 %":
        return diameter_m * number("INVERSE_E2_PER_INVERSE_E")
    if diameter_definition == "fwhm":
        return diameter_m * number("INVERSE_E2_PER_FWHM")
    return diameter_m

"""One refusal for every physical function: a value outside what the formula holds for."""

from math import inf, isfinite, pi

from api.errors import BadInput


def require_above_zero(**values: float) -> None:
    """Raise unless every value is finite and above zero.

    The keyword is the argument's own name, with its unit, so that the refusal names it.
    """
    for name, value in values.items():
        if not 0 < value < inf:
            raise BadInput(
                "out_of_range", f"{name} is {value}, it must be above 0", field=name, given=value
            )


def require_not_negative(**values: float) -> None:
    """Raise unless every value is finite and zero or more."""
    for name, value in values.items():
        if not 0 <= value < inf:
            raise BadInput(
                "out_of_range", f"{name} is {value}, it must be 0 or more", field=name, given=value
            )


def require_one_or_more(**values: float) -> None:
    """Raise unless every value is finite and one or more."""
    for name, value in values.items():
        if not 1 <= value < inf:
            raise BadInput(
                "out_of_range", f"{name} is {value}, it must be 1 or more", field=name, given=value
            )


def require_below_half_turn(**values: float) -> None:
    """Raise unless every angle is below pi, in rad."""
    for name, value in values.items():
        if not value < pi:
            raise BadInput(
                "out_of_range", f"{name} is {value}, it must be below pi", field=name, given=value
            )


def require_fraction(**values: float) -> None:
    """Raise unless every value is above zero and at most one."""
    for name, value in values.items():
        if not 0 < value <= 1:
            raise BadInput(
                "out_of_range",
                f"{name} is {value}, it must be above 0 and at most 1",
                field=name,
                given=value,
            )


def require_whole(**values: float) -> None:
    """Raise unless every value is a whole number, zero or more."""
    for name, value in values.items():
        if not (isfinite(value) and value >= 0 and value == int(value)):
            raise BadInput(
                "out_of_range",
                f"{name} is {value}, it must be a whole number of 0 or more",
                field=name,
                given=value,
            )


def require_above_threshold(*, threshold: float, **values: float) -> None:
    """Raise unless every value is above the threshold."""
    for name, value in values.items():
        if not value > threshold:
            raise BadInput(
                "out_of_range",
                f"{name} is {value}, it must be above {threshold}",
                field=name,
                given=value,
            )

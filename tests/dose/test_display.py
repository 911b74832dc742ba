"""How numbers are written for a person, by hand.

Expected values are worked out beside each check from the words of the docstrings and the contract;
the limits themselves are those of `constants.json` with their sources.
"""

import pytest

from api.dose.constants import table
from api.dose.display import format_number, format_value


@pytest.mark.parametrize(("value", "digits", "text"), [
    (0, None, "0"), (-0.0, None, "0"), (12345, None, "12300"), (12355, 4, "12360"),
    (0.00012345, None, "0.000123"), (-1.005, None, "-1.01"), (1.2345, 2, "1.2"),
    (99.96, None, "100"),
    (1.0, None, "1"), (10.0, None, "10"), (100.5, None, "101"), (1e22, None, "1" + "0" * 22),
    (0.5, 1, "0.5"), (0.95, 1, "1"), (0.94, 1, "0.9"), (1.10, None, "1.1"),
])  # fmt: skip
def test_numbers_are_written_with_so_many_digits(value, digits, text: str) -> None:
    # Halves away from zero, on the decimal digits: by hand.
    assert format_number(value, digits=digits) == text


def test_names_that_are_no_results_are_not_written() -> None:
    with pytest.raises(KeyError):
        format_value("colour", 1.0)


@pytest.mark.parametrize(("name", "value", "text"), [
    ("off_time", 0.0, "0 s"), ("average_power", -0.0, "0 W"), ("duty_cycle", 0.0, "0 %"),
    ("spot_diameter", 0.0, "0 mm"), ("overlap", -0.25, "-25 %"),
    ("duty_cycle", 1e-9, "0.0000001 %"),
])  # fmt: skip
def test_nothing_is_written_in_the_unit_itself(name: str, value: float, text: str) -> None:
    assert format_value(name, value) == text


def test_the_smallest_number_that_a_float_holds_has_a_place_in_every_scale() -> None:
    # 5e-324, shown with one digit; each scale ends with a row for whatever is smaller.
    for name, result in table()["results"].items():
        if name not in table()["display"]["whole"]:
            shown = format_value(name, 5e-324)
            scale = "%" if name in table()["display"]["as_percent"] else result["unit"]
            assert shown.split()[0].strip("0.") == "5", name
            assert shown.endswith(table()["display"]["scales"][scale][-1]["label"])

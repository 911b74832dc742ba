"""How numbers are written for a person, by hand.

Expected values are worked out beside each check from the words of the docstrings and the contract;
the limits themselves are those of `constants.json` with their sources.
"""

import pytest

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

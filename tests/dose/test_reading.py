"""What the description of the interface takes from the fields of a request."""

from api.dose.reading import Choice, choice


def test_what_a_choice_takes_stands_in_the_description_and_may_be_left_out():
    for field in (choice(("low", "high")), Choice(("low", "high"))):
        [described] = field.validators
        assert tuple(described.choices) == ("low", "high")
        assert not field.required
    assert choice(("low",), required=True).required

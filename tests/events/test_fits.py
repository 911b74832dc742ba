"""What is asked first of a payload agrees with its schema, whatever the payload is."""

import copy
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from marshmallow import EXCLUDE, Schema, fields, validates_schema

from api.events import catalogue, shapes
from api.events.fits import compiled
from tests.events.test_catalogue import WHOLE

# Values of every kind that JSON has, and the neighbours of what the fields of payloads take.
ODD = (
    None, True, False, 0, 1, -1, 60, 2**53, 1.5, "", " ", "x", "x" * 65, "x" * 401, "x" * 8001,
    "4.5 W", "12.4 s", "1e3", "yes", "2026-03-02", "2026-02-30", "2026-03-02T10:15:30.123+01:00",
    "2026-03-02T10:15:30.123", "a" * 64, "A" * 64, [], [None], ["x"], [[]], [{}], {}, {"a": 1.5},
    {"a": {"b": [0.5]}}, {"a": None},
)  # fmt: skip


def _places(value, found):
    inner = value.items() if isinstance(value, dict) else enumerate(value)
    for key, each in inner:
        found.append((value, key))
        if isinstance(each, (dict, list)):
            _places(each, found)
    return found


def _changed(payload, rng):
    """Return a payload in which one to three things are otherwise."""
    made = copy.deepcopy(payload)
    for _ in range(rng.randint(1, 3)):
        places = _places(made, [])
        if not places or rng.random() < 0.1:
            made[rng.choice(["unknown", "un.known", "text.x", ""])] = rng.choice(ODD)
            continue
        where, key = rng.choice(places)
        if rng.random() < 0.2 and isinstance(where, dict):
            del where[key]
        elif rng.random() < 0.1 and isinstance(where[key], list):
            where[key] = where[key] * 201
        else:
            where[key] = copy.deepcopy(rng.choice(ODD))
    return made


def _agrees(event_type, payload):
    try:
        wrong = event_type.schema.validate(payload)
    except ValueError:
        # A name with dots that leads into a value: not the question whether it fits.
        wrong = {"payload": ["cannot be read"]}
    dotted = any("." in str(key) for _, key in _places(payload, []))
    # Where it does not answer by itself it asks the schema, which costs time and nothing else.
    return event_type.fits(payload) == (not wrong) or (dotted and not event_type.fits(payload))


@pytest.mark.parametrize("name", sorted(catalogue.EVENT_TYPES))
def test_a_whole_payload_needs_no_other_question(name):
    assert catalogue.EVENT_TYPES[name].fits(WHOLE[name])


@given(st.sampled_from(sorted(WHOLE)), st.integers(0, 2**32))
def test_it_says_what_the_schema_says(name, seed):
    rng = random.Random(seed)
    for _ in range(10):
        payload = _changed(WHOLE[name], rng)
        assert _agrees(catalogue.EVENT_TYPES[name], payload), payload


class Even(shapes.Payload):
    number = shapes.whole()

    @validates_schema
    def _is_even(self, data, **_more):
        raise NotImplementedError


class Strict(Schema):
    class Meta:
        unknown = EXCLUDE


class Other(shapes.Payload):
    number = fields.Float()


@pytest.mark.parametrize("schema", [Even(), Strict(), Other(), shapes.Payload(many=True)])
def test_what_it_does_not_know_it_leaves_to_the_schema(schema):
    assert not compiled(schema)({"number": 2})

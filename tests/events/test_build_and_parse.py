"""An event made here is read back as it was; what cannot be read has a reason."""

import json
from datetime import datetime, timedelta, timezone

import pytest

from api.errors import BadInput
from api.events import build, parse, signing

KEY = signing.new_private_key()
FIELDS = {
    "event_id": "e1",
    "tablet_id": "t1",
    "tablet_seq": 1,
    "location_id": "l1",
    "actor_id": "p1",
    "type": "procedure.noted",
    "entity_id": "r1",
    "payload": {"text": "größer \u2028"},
    "occurred_at": datetime(2026, 3, 2, 10, 15, 30, 123456, timezone(timedelta(hours=1))),
    "zone": "Europe/Berlin",
    "app_build": "test",
    "engine_version": "1.0.0",
    "random": lambda count: bytes(range(count)),
}


def test_a_built_event_reads_back_and_its_signature_holds():
    item = build.build_item(KEY, **FIELDS)
    assert signing.verify(signing.public_key_text(KEY), item["body"], item["signature"])
    salt = bytes.fromhex(item["salt"])
    assert salt == bytes(range(16))
    parsed = parse.parse_event(body=item["body"], payload=item["payload"], salt=salt)
    assert (parsed.reason, parsed.payload) == (None, FIELDS["payload"])
    assert tuple(parsed.body) == parse.BODY_KEYS
    assert parsed.body["occurred_at"] == "2026-03-02T10:15:30.123+01:00"
    assert "\n" not in item["body"] + item["payload"]
    changed = parse.parse_event(body=item["body"], payload=item["payload"] + " ", salt=salt)
    assert changed.reason == "payload_hash"


def test_versions_follow_each_other_without_a_gap_and_none_comes_twice():
    def publish(version, base_version):
        items = [{"item_id": "a", "text": "Agreed"}]
        payload = {"kind": "time_out", "version": version, "title": "x", "items": items}
        event = {"type": "list.published", "payload": payload, "base_version": base_version}
        return build.build_item(KEY, **{**FIELDS, **event})

    assert publish(1, None) and publish(2, 1)
    for version, base_version in [(2, None), (1, 1), (3, 1), (1, 2)]:
        with pytest.raises(BadInput) as raised:
            publish(version, base_version)
        assert "version" in raised.value.errors


def test_what_could_not_be_kept_is_refused_before_it_is_saved():
    for change, code, field in [
        ({"payload": {"text": ""}}, "event_schema", "text"),
        ({"payload": {"words": "x"}}, "event_schema", "text"),
        ({"type": "laser.dreamt"}, "unknown_type", "type"),
        ({"type": "entry.withdrawn", "payload": {"reason": "x"}}, "event_schema", "corrects"),
        ({"tablet_seq": 0}, "event_schema", "tablet_seq"),
    ]:
        with pytest.raises(BadInput) as raised:
            build.build_item(KEY, **{**FIELDS, **change})
        assert raised.value.code == code
        assert field in raised.value.errors
    large = {"text": "x", "later": "y" * parse.LARGEST_EVENT_BYTES}
    with pytest.raises(BadInput) as raised:
        build.build_item(KEY, **{**FIELDS, "payload": large})
    assert raised.value.code == "event_too_large"


def body_with(**changes):
    item = build.build_item(KEY, **FIELDS)
    return {**json.loads(item["body"]), **changes}


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("event_id", "has space"),
        ("event_id", None),
        ("tablet_seq", 1.0),
        ("tablet_seq", True),
        ("tablet_seq", 2**53),
        ("location_id", 5),
        ("actor_id", ""),
        ("type", ["procedure.noted"]),
        ("entity_id", {}),
        ("base_version", "1"),
        ("corrects", 7),
        ("occurred_at", "2026-03-02T10:15:30.123"),
        ("occurred_at", 0),
        ("zone", ""),
        ("clock_offset_ms", 0.5),
        ("app_build", "x" * 65),
        ("engine_version", None),
        ("payload_hash", "A" * 64),
    ],
)
def test_each_key_of_a_body_is_checked(key, value):
    assert list(parse.body_problems(body_with(**{key: value}))) == [key]


def test_every_key_of_a_body_must_be_there():
    for key in parse.BODY_KEYS:
        body = body_with()
        del body[key]
        assert list(parse.body_problems(body)) == [key]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "nul",
        "1",
        "[]",
        "{} {}",
        '{"a":1,"a":2}',
        '{"a":{"b":1,"b":2}}',
        '{"a":NaN}',
        '{"a":-Infinity}',
        '{"a":1e999}',
        '{"a":"\\ud83e"}',
        '{"\\udd00":1}',
        '{"a":"\\u0000"}',
        '{"a":' * 30 + "1" + "}" * 30,
        "[" * 100_000,
        '{"a":' + "9" * 5000 + "}",
    ],
)
def test_a_text_that_two_readers_could_take_differently_is_unreadable(text):
    with pytest.raises(parse.Unreadable):
        parse.read_object(text)


def test_objects_may_be_nested_twenty_deep():
    deepest = '{"a":' * 20 + "1" + "}" * 20
    assert parse.read_object(deepest)
    with pytest.raises(parse.Unreadable):
        parse.read_object('{"a":' + deepest + "}")


def test_plain_objects_are_read():
    assert parse.read_object(' {"a":"\\ud83e\\uddb7","b":[1,null]} ') == {"a": "🦷", "b": [1, None]}

"""Push: each outcome, and what stands in the log afterwards."""

import json

import pytest

from api.errors import BadInput, Conflict, NotAllowed
from api.storage import documents, readers
from api.storage.engine import read, write
from api.sync import judge
from api.sync import push as push_module

pytestmark = pytest.mark.both_databases


def outcomes(results):
    return [result["outcome"] for result in results]


def log(world):
    with read(world.engine) as connection:
        return readers.stored_after(connection, world.location_id, 0, limit=1000)


def test_new_events_are_applied_in_order_and_kept_byte_for_byte(world):
    tablet = world.tablet()
    items = [tablet.make(payload={"text": "Größe · 10,6 µm \u2028 \U0001f9b7"}) for _ in range(3)]
    results = tablet.push(*items)
    assert outcomes(results) == ["applied"] * 3
    assert [result["position"] for result in results] == [2, 3, 4]
    stored = log(world)[1:]
    for item, row in zip(items, stored, strict=True):
        assert (row["body"], row["payload"]) == (item["body"], item["payload"])
        assert (row["salt"].hex(), row["signature"]) == (item["salt"], item["signature"])
    assert len(world.notes()) == 3


def test_the_same_bytes_again_are_a_duplicate_without_effect(world):
    tablet = world.tablet()
    item = tablet.make()
    assert outcomes(tablet.push(item)) == ["applied"]
    [again] = tablet.push(item)
    assert (again["outcome"], again["position"], again["verdict"]) == ("duplicate", 2, "applied")
    assert outcomes(tablet.push(tablet.make(), item)) == ["applied", "duplicate"]
    assert len(world.notes()) == 2


def test_the_same_event_twice_in_one_batch_has_one_effect(world):
    tablet = world.tablet()
    item = tablet.make()
    results = tablet.push(item, item)
    assert outcomes(results) == ["applied", "duplicate"]
    assert results[0]["position"] == results[1]["position"] == 2
    assert len(world.notes()) == 1


def test_a_hole_is_told_and_nothing_after_it_is_taken(world):
    tablet = world.tablet()
    first, second, third = tablet.make(), tablet.make(), tablet.make()
    results = tablet.push(first, third)
    assert outcomes(results) == ["applied", "gap"]
    assert results[1]["expected_seq"] == 2
    assert outcomes(tablet.push(second, third)) == ["applied", "applied"]


def test_a_used_id_with_other_bytes_stops_the_batch(world):
    tablet = world.tablet()
    first = tablet.make()
    tablet.push(first)
    reused = tablet.make(event_id=first["event_id"])
    after = tablet.make()
    assert outcomes(tablet.push(reused, after)) == ["id_reuse", "retry"]
    assert len(log(world)) == 2


def test_a_used_id_of_another_tablet_is_reuse_too(world):
    one, other = world.tablet(), world.tablet()
    item = one.make()
    one.push(item)
    assert outcomes(other.push(other.make(event_id=item["event_id"]))) == ["id_reuse"]


def test_a_used_number_with_another_event_is_a_fork(world):
    tablet = world.tablet()
    tablet.push(tablet.make())
    results = tablet.push(tablet.make_at(1), tablet.make())
    assert outcomes(results) == ["fork", "retry"]
    assert results[0]["reason"] == "seq_reused"
    assert len(log(world)) == 2


def test_a_wrong_signature_is_a_fork_and_nothing_is_appended(world):
    tablet, other = world.tablet(), world.tablet()
    item = tablet.make()
    forged = other.sign(item)
    results = tablet.push(forged)
    assert (results[0]["outcome"], results[0]["reason"]) == ("fork", "signature")
    assert len(log(world)) == 1
    assert outcomes(tablet.push(item)) == ["applied"]


def broken(tablet, change):
    """Return a rightly signed event whose body was changed by ``change``."""
    item = tablet.make()
    body = json.loads(item["body"])
    change(body)
    return tablet.sign(item, body=json.dumps(body))


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (lambda body: body.update(type="laser.dreamt"), "unknown_type"),
        (lambda body: body.update(v=2), "unknown_version"),
        (lambda body: body.update(extra=1), "schema"),
        (lambda body: body.pop("zone"), "schema"),
        (lambda body: body.update(type=["procedure.noted"]), "schema"),
        (lambda body: body.update(occurred_at="2026-03-02T09:00:00"), "schema"),
        (lambda body: body.update(tablet_seq=7), "envelope_mismatch"),
        (lambda body: body.update(location_id="elsewhere"), "envelope_mismatch"),
        (lambda body: body.update(payload_hash="0" * 64), "payload_hash"),
    ],
)
def test_what_is_wrong_is_kept_aside_and_does_not_hold_up_the_rest(world, change, reason):
    tablet = world.tablet()
    item = broken(tablet, change)
    results = tablet.push(item, tablet.make())
    assert outcomes(results) == ["quarantined", "applied"]
    assert results[0]["reason"] == reason
    with read(world.engine) as connection:
        [kept] = readers.quarantined(connection, world.location_id)
    assert (kept["body"], kept["reason"]) == (item["body"], reason)
    assert outcomes(tablet.push(item)) == ["duplicate"]
    assert len(world.notes()) == 1


@pytest.mark.parametrize("body", ["", "{", "[]", "null", '{"v":NaN}', '{"v":1,"v":1}', "[" * 5000])
def test_an_unreadable_text_has_a_place_in_the_log(world, body):
    tablet = world.tablet()
    item = tablet.sign(tablet.make(), body=body)
    results = tablet.push(item, tablet.make())
    assert outcomes(results) == ["quarantined", "applied"]
    assert results[0]["reason"] == "unreadable"


def test_a_payload_that_does_not_fit_its_type_is_kept_aside(world):
    tablet = world.tablet()
    item = tablet.make()
    body, salt = json.loads(item["body"]), bytes.fromhex(item["salt"])
    from api.events import chain

    payload = '{"text":"lone half \\ud83e"}'
    body["payload_hash"] = chain.payload_hash(salt=salt, payload=payload)
    item = tablet.sign(item, body=json.dumps(body), payload=payload)
    assert tablet.push(item)[0]["reason"] == "unreadable"


def test_an_event_that_cannot_be_projected_does_not_hold_up_the_queue(world):
    tablet = world.tablet()
    before = tablet.make()
    poisoned = tablet.make("record.placed_in_chart", payload={"how": "pdf", "note": None})
    results = tablet.push(before, poisoned, tablet.make())
    assert outcomes(results) == ["applied", "quarantined", "applied"]
    assert results[1]["reason"] == "not_projectable"
    assert len(world.notes()) == 2


def test_a_number_that_is_none_is_kept_from_every_reader(world):
    def endless(connection, entry):
        documents.put(
            connection,
            world.location_id,
            "record",
            world.record_id,
            {"laser_on_s": float("inf")},
            position=entry["position"],
        )

    tablet = world.tablet()
    [result] = tablet.push(tablet.make(), projectors={"procedure.noted": endless})
    assert (result["outcome"], result["reason"]) == ("quarantined", "not_projectable")


def test_what_is_made_of_many_entries_is_made_where_they_stand_in_the_log():
    """A group takes in batches in which a record's entries and others come by turns."""
    seen = []
    project = judge.project_with(
        {
            "procedure.noted": judge.OfWhole(
                lambda _, entries, _foreseen: seen.append([one["position"] for one in entries])
            ),
            "list.published": lambda _, entry: seen.append(entry["position"]),
        }
    )
    types = ["procedure.noted", "procedure.noted", "list.published", "procedure.noted", "unknown"]
    project(
        None,
        [
            {"position": position, "body": {"type": type}, "payload": None}
            for position, type in enumerate(types, start=1)
        ],
    )
    assert seen == [[1, 2], 3, [4]]


def test_who_may_not_is_put_aside_with_the_reason(world):
    tablet = world.tablet()
    [result] = tablet.push(tablet.make(), authorise=lambda *_: "role_missing")
    assert (result["outcome"], result["reason"]) == ("quarantined", "role_missing")
    assert world.notes() == []


def published(version, title="Time-out"):
    items = [{"item_id": "a", "text": "Patient named"}]
    return {"kind": "time_out", "version": version, "title": title, "items": items}


def test_the_second_of_two_versions_is_a_conflict_and_the_first_stays(world):
    one, other = world.tablet(), world.tablet()
    list_id = world.new_id()

    def make(tablet, version, base):
        return tablet.make(
            "list.published", entity_id=list_id, payload=published(version), base_version=base
        )

    assert outcomes(one.push(make(one, 1, None), make(one, 2, 1))) == ["applied", "applied"]
    [late] = other.push(make(other, 2, 1))
    assert (late["outcome"], late["current"]) == ("conflict", 2)


def test_a_revoked_tablet_is_heard_but_not_followed(world):
    tablet = world.tablet()
    tablet.push(tablet.make())
    unsent = [tablet.make() for _ in range(5)]
    world.revoke(tablet)
    results = tablet.push(*unsent)
    assert [result["reason"] for result in results] == ["tablet_revoked"] * 5
    assert len(world.notes()) == 1
    world.later(days=91)
    with pytest.raises(NotAllowed, match="revoked"):
        tablet.push(tablet.make())


def test_a_revoked_tablet_fills_at_most_500_places(world):
    tablet = world.tablet()
    world.revoke(tablet)
    with write(world.engine) as connection:
        from api.storage import accounts

        accounts.advance_tablet(connection, tablet.tablet_id, next_seq=1, pushed_after_revoked=499)
    last = tablet.make()
    assert outcomes(tablet.push(last)) == ["quarantined"]
    # The answer was lost: what is there already takes no further place.
    assert outcomes(tablet.push(last)) == ["duplicate"]
    with pytest.raises(NotAllowed):
        tablet.push(tablet.make())


@pytest.mark.parametrize("change", [{"payload": '{"text":"other"}'}, {"salt": "00" * 16}])
def test_the_same_body_with_another_payload_is_no_duplicate(world, change):
    tablet = world.tablet()
    item = tablet.make()
    assert outcomes(tablet.push(item)) == ["applied"]
    assert outcomes(tablet.push({**item, **change})) == ["id_reuse"]
    assert outcomes(tablet.push(item)) == ["duplicate"]


def test_another_epoch_is_told_before_anything_is_taken(world):
    tablet = world.tablet()
    item = tablet.make()
    world.epoch = "another"
    with pytest.raises(Conflict) as raised:
        tablet.push(item)
    assert raised.value.code == "epoch_changed"
    assert len(log(world)) == 1


def test_limits_and_shapes_of_a_batch(world):
    tablet = world.tablet()
    good = tablet.make()
    many = tablet.request(*[good] * 51)
    large = tablet.request(*[{**good, "payload": "x" * 60_000}] * 5)
    for request, code in [
        (many, "batch_too_large"),
        (large, "batch_too_large"),
        ({**tablet.request(good), "protocol": 0}, "protocol_unsupported"),
        ([], "batch_unreadable"),
        (tablet.request({**good, "salt": "00"}), "batch_unreadable"),
        (tablet.request({**good, "tablet_seq": True}), "batch_unreadable"),
        (tablet.request({**good, "body": "\ud83e"}), "batch_unreadable"),
        (tablet.request("text"), "batch_unreadable"),
    ]:
        with pytest.raises(BadInput) as raised:
            push_module.push(
                world.engine,
                world.clock,
                tablet={"tablet_id": tablet.tablet_id},
                request=request,
                projectors={},
            )
        assert raised.value.code == code
    assert len(log(world)) == 1


def test_an_event_over_64_kib_is_kept_aside(world):
    tablet = world.tablet()
    item = tablet.make()
    item = tablet.sign(item, payload='{"text":"' + "x" * 66_000 + '"}')
    assert tablet.push(item)[0]["reason"] == "too_large"

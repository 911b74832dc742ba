"""Out of service and back: the shared vectors, any order of arrival, and random histories."""

import json
import random
from pathlib import Path

import pytest

from api.devices import service_proofs, service_state

VECTORS = json.loads(
    (Path(__file__).resolve().parent.parent / "vectors" / "service_state.json").read_text("utf-8")
)
CASES = {one["name"]: one for one in VECTORS["cases"]}


def at(hour):
    return f"2026-11-25T{hour:02d}:00:00.000+00:00"


def verification(event_id, hour, handpiece_id, mode, ratio, verdict, settings=2, readings=3):
    return {
        "event_id": event_id,
        "device_id": "d",
        "handpiece_id": handpiece_id,
        "mode": mode,
        "ratio": ratio,
        "meter_uncertainty": "0.03",
        "verdict": verdict,
        "verified_at": at(hour),
        "verified_by": "someone",
        "readings": [{"measured": ["1 W"] * readings}] * settings,
    }


def check(event_id, hour, kind, verdict, failed):
    return {
        "event_id": event_id,
        "kind": kind,
        "title": kind,
        "verdict": verdict,
        "done_at": at(hour),
        "checked_by": "someone",
        "failed": failed,
        "answers": [{"item_id": each, "text": f"Item {each}", "note": "bad"} for each in failed],
    }


def entry(event_id, hour, type, by, said):
    return {"event_id": event_id, "at": at(hour), "type": type, "by": by, "said": said}


def made(case, event_id):
    tablet_id, tablet_seq, off_hours, received = case.get("made", {}).get(event_id, [None] * 4)
    return {
        "tablet_id": tablet_id,
        "tablet_seq": tablet_seq,
        "clock_offset_ms": None if off_hours is None else off_hours * 3_600_000,
        "received_at": None if received is None else at(received),
    }


def about(case):
    makers = {"verifications": verification, "checks": check, "entries": entry}
    said = {
        name: [make(*one) | made(case, one[0]) for one in case[name]]
        for name, make in makers.items()
    }
    return {**said, "retired": case.get("retired", ())}


def plainly(state):
    asked = state["asked"]
    return {
        "in_service": state["in_service"],
        "since": None if state["since"] is None else int(state["since"][11:13]),
        "causes": [one["event_id"] for one in state["causes"]],
        "ended": [one["event_id"] for one in state["ended"]],
        "key_held_by": state["key_held_by"],
        "asked": asked and asked["event_id"],
    }


@pytest.mark.parametrize("name", CASES)
def test_shared_vectors(name):
    case = CASES[name]
    said = about(case)
    state = service_state.service_state(**said)
    assert plainly(state) == case["expect"]
    causes = {one["event_id"]: one for one in state["causes"]}
    tests = service_proofs.tests_of(said["verifications"], said["checks"])
    cleared = {one["event_id"]: int(one["cleared"]["at"][11:13]) for one in state["ended"]}
    assert {**cleared, **case.get("cleared", {})} == cleared
    for event_id, expected in case.get("proofs", {}).items():
        shown = service_proofs.proofs(causes[event_id], tests, said["retired"])
        assert {one["need"]: one["tests"] for one in shown} == expected


def test_a_cause_says_what_failed():
    said = about(
        {"verifications": [], "checks": [["c", 8, "weekly", "failed", ["a", "b"]]], "entries": []}
    )
    said["checks"][0]["answers"][1]["note"] = None
    [cause] = service_state.service_state(**said)["causes"]
    assert cause["items"] == ["Item a: bad", "Item b"]


def some_history(dice):
    """Return what was said of a laser in some order of happening."""
    verifications, checks, entries = [], [], []
    for number in range(dice.randint(4, 22)):
        hour, event_id = dice.randint(0, 23), f"e{number:02d}"
        kind = dice.random()
        causes = [one[0] for one in verifications + checks] + [
            one[0] for one in entries if one[2] == "device.taken_out"
        ]
        if kind < 0.35:
            verdict = dice.choice(["ok", "warn", "ok", "fail"])
            readings = dice.choice([3, 3, 3, 2])
            verifications.append(
                (event_id, hour, dice.choice("hi"), dice.choice("cp"), "0.9", verdict, 2, readings)
            )
        elif kind < 0.55:
            verdict = dice.choice(["passed", "failed"])
            kind = dice.choice(["weekly", "start_of_day", "after_move"])
            checks.append((event_id, hour, kind, verdict, ["x"] if verdict == "failed" else []))
        elif kind < 0.65:
            code = dice.choice(["other", "damage", "suspicion"])
            said = {"reason_code": code, "reason": "r", "key_held_by": None}
            entries.append((event_id, hour, "device.taken_out", "p", said))
        elif kind < 0.85 and causes:
            named = {each: dice.sample(causes, dice.randint(1, len(causes))) for each in ("c", "t")}
            said = {"causes": named["c"], "tests": named["t"], "done": "d"}
            entries.append((event_id, hour, "device.release_asked", dice.choice("pq"), said))
        else:
            asked = [one[0] for one in entries if one[2] == "device.release_asked"]
            said = {"asked": dice.choice(asked) if asked else "none", "note": None}
            entries.append((event_id, hour, "device.released", dice.choice("pq"), said))
    return {"verifications": verifications, "checks": checks, "entries": entries}


def naively_standing(case):
    """The rule said once more, apart from the code: what nobody may yet have let go of."""
    standing = set()
    tests = {one[0]: ("v", *one[1:]) for one in case["verifications"]}
    tests |= {one[0]: ("c", *one[1:]) for one in case["checks"]}
    bad = {k: v for k, v in tests.items() if (v[0] == "v" and v[5] == "fail") or v[3] == "failed"}
    bad |= {
        one[0]: ("t", one[1], one[4]["reason_code"], None)
        for one in case["entries"]
        if one[2] == "device.taken_out"
    }
    asks = {one[0]: one for one in case["entries"] if one[2] == "device.release_asked"}
    for cause, what in bad.items():
        let_go = False
        for _, _, type, by, said in case["entries"]:
            ask = asks.get(said.get("asked")) if type == "device.released" else None
            if ask is None or ask[3] == by or cause not in ask[4]["causes"]:
                continue
            shown = set()
            for name in ask[4]["tests"]:
                test = tests.get(name)
                if test is None or test[1] <= what[1]:
                    continue
                if test[0] == "v":
                    good = test[5] in ("ok", "warn") and test[7] >= 3
                else:
                    good = test[3] == "passed"
                if what[0] == "t":
                    # After damage a power and a list after a move, after a suspicion a power.
                    as_list = test[0] == "c" and (what[2] == "other" or test[2] == "after_move")
                    shown |= {"power"} if good and test[0] == "v" else set()
                    shown |= {"list"} if good and as_list else set()
                elif good and test[0] == what[0]:
                    same = test[2] == what[2] if what[0] == "c" else test[2:4] == what[2:4]
                    shown |= {"same"} if same else set()
            wanted = {"damage": {"power", "list"}, "suspicion": {"power"}}.get(what[2])
            let_go = let_go or (shown >= wanted if what[0] == "t" and wanted else bool(shown))
        if not let_go:
            standing.add(cause)
    return standing


def test_random_histories_in_any_order_of_arrival():
    seed = random.randrange(10**9)
    print("seed", seed)
    dice = random.Random(seed)
    out = back = 0
    for _ in range(1500):
        case = some_history(dice)
        said = about(case)
        state = service_state.service_state(**said)
        assert {one["event_id"] for one in state["causes"]} == naively_standing(case), case
        out += not state["in_service"]
        back += bool(state["ended"])
        for each in ("verifications", "checks", "entries"):
            dice.shuffle(said[each])
        assert service_state.service_state(**said) == state
    assert out > 300
    assert back > 20

"""Both languages answer alike: numbers, absences, contradictions, refusals, shown characters."""

import json
import os
import random
from pathlib import Path

import pytest

from api.dose.display import format_value
from api.dose.evaluate import respond
from api.errors import BadInput
from tests.dose.bundles import bundle, compare
from tests.dose.requests import random_request

SEED = 20261125
# All of them in the long check.
COUNT = 20_000 if os.environ.get("DOSEBOOK_LONG") else 5_000
ENTRY = """
export { respond, BadInput } from "./src/dose/evaluate";
export { format_value } from "./src/dose/display";
"""


@pytest.fixture(scope="module")
def engine(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The TypeScript engine as one file that node can run."""
    return bundle(ENTRY, tmp_path_factory.mktemp("bundle") / "dose.mjs")


def _answer(request: dict) -> dict:
    try:
        response = respond(request)
    except BadInput as problem:
        assert problem.code == "bad_request"
        return {"errors": {path: problem.errors[path] for path in sorted(problem.errors)}}
    shown = [
        format_value(name, result[size])
        for side in (response["dose"]["set"], response["dose"]["delivered"] or {})
        for name, result in side.items()
        if isinstance(result, dict)
        for size in ("value", "low", "high")
        if size in result
    ]
    return {"response": response, "shown": shown}


def test_both_languages_answer_alike(engine: Path, tmp_path: Path) -> None:
    draw = random.Random(SEED)
    path = tmp_path / "cases.jsonl"
    kinds = {"contradictions": 0, "not stated": 0, "cut": 0, "delivered": 0,
             "lens": 0, "waist": 0, "tip": 0, "tip divergence": 0, "design": 0,
             "pulse depth": 0, "cut depth": 0, "too long": 0, "weak": 0, "interval": 0,
             "not stated interval": 0}  # fmt: skip
    with path.open("w", encoding="utf-8") as lines:
        for _ in range(COUNT):
            # Through JSON text and back, as a request travels.
            text = json.dumps(random_request(draw)).replace("NaN", "null")
            request = json.loads(text)
            expected = _answer(request)
            response = expected.get("response")
            if response:
                reasons = " ".join(response["absent"].values())
                kinds["contradictions"] += bool(response["contradictions"])
                kinds["not stated"] += "average or peak" in reasons
                kinds["cut"] += "cuts the last pulse" in reasons
                spot = request.get("spot", {})
                kinds["lens"] += "focal_length" in spot
                kinds["waist"] += "waist_diameter" in spot
                kinds["tip"] += "bore_diameter" in spot
                kinds["tip divergence"] += "full_divergence" in spot
                delivered = response["dose"]["delivered"]
                kinds["delivered"] += delivered is not None
                kinds["design"] += delivered is not None and delivered["basis"] == "design"
                kinds["pulse depth"] += "pulse_depth" in response["dose"]["set"]
                kinds["cut depth"] += "cut_depth" in response["dose"]["set"]
                kinds["too long"] += "below 0.5 ms" in reasons
                kinds["weak"] += "below 1.4 um" in reasons
                intervals = response["intervals"]["set"].values()
                kinds["interval"] += any(isinstance(one, dict) for one in intervals)
                kinds["not stated interval"] += "not stated" in intervals
            lines.write(json.dumps({"request": request, "expected": expected}) + "\n")
    result = compare(engine, path)
    print(f"seed {SEED}: {result['refused']} refused, {kinds}")
    assert result["differences"] == [], f"seed {SEED}"
    assert result["compared"] == COUNT
    # The draw has to reach every kind of answer, or it proves little.
    assert COUNT / 40 < result["refused"] < COUNT / 2
    assert min(kinds.values()) > COUNT / 400, kinds


@pytest.mark.parametrize(
    "damage",
    [
        lambda e: e["response"]["dose"]["set"]["average_power"].update(value=4.0000001),
        lambda e: e["response"]["absent"].pop("dwell_time"),
        lambda e: e["shown"].__setitem__(0, "4.0 W"),
        lambda e: e["response"]["warnings"].clear(),
        lambda e: e["response"]["intervals"].update(delivered={}),
    ],
    ids=["number", "absence", "shown", "warning", "interval"],
)
def test_the_comparison_sees_a_difference(engine: Path, tmp_path: Path, damage) -> None:
    request = {"wavelength": "10.6 um", "emission": {"mode": "continuous", "power": "4 W"}}
    expected = _answer(request)
    damage(expected)
    path = tmp_path / "cases.jsonl"
    path.write_text(json.dumps({"request": request, "expected": expected}) + "\n")
    assert len(compare(engine, path)["differences"]) == 1

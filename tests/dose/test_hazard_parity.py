"""Both languages say the same of a hazard: numbers, grades, absences, refusals, cautions."""

import json
import random
from pathlib import Path

import pytest

from api.dose.hazard.evaluate import respond
from api.errors import BadInput
from tests.dose.bundles import bundle, compare

SEED = 20261125
COUNT = 5_000
ENTRY = """
export { respond, BadInput } from "./src/dose/hazard/evaluate";
export { format_value } from "./src/dose/display";
"""
WAVES = ("10.6 um", "9.3 um", "2.94 um", "1550 nm", "1470 nm", "1064 nm", "1180 nm", "1300 nm",
         "810 nm", "700 nm", "650 nm", "532 nm", "450 nm", "200 um", "1 mm", "400 nm",
         "1400 nm", "300 nm")  # fmt: skip


@pytest.fixture(scope="module")
def engine(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return bundle(ENTRY, tmp_path_factory.mktemp("bundle") / "hazard.mjs")


def spread(draw: random.Random, least: float, most: float) -> str:
    return f"{least * (most / least) ** draw.random():.6g}"


def emission(draw: random.Random) -> dict:
    kind = draw.choice(("power", "power", "train", "train", "single", "single", "odd"))
    if kind == "power":
        return {"power": f"{spread(draw, 1e-4, 500)} W"}
    pulse = {
        "pulse_energy": f"{spread(draw, 1e-9, 10)} J",
        "pulse_duration": f"{spread(draw, 1e-10, 0.5)} s",
    }
    if kind == "train":
        rate_hz = float(spread(draw, 0.1, 1e5))
        pulse["repetition_rate"] = f"{rate_hz} Hz"
        # Mostly shorter than the period; a few are not, and are refused.
        pulse["pulse_duration"] = f"{spread(draw, 1e-6, 1.05)} s"
        if draw.random() < 0.95:
            pulse["pulse_duration"] = f"{float(spread(draw, 1e-6, 1)) / rate_hz:.4g} s"
    if kind == "odd":
        pulse.pop(draw.choice(list(pulse)))
    return pulse


def random_request(draw: random.Random) -> dict:
    definition = draw.choice(("63 %", "1/e2"))
    request: dict = {"wavelength": draw.choice(WAVES), "emission": emission(draw)}
    single = "power" not in request["emission"] and "repetition_rate" not in request["emission"]
    if draw.random() < (0.1 if single else 0.97):
        request["exposure_time"] = draw.choice(
            (
                f"{spread(draw, 1e-4, 3e4)} s",
                f"{spread(draw, 1e-11, 3e4)} s",
                "10 s",
                "0.25 s",
                "0.35 s",
                "30000 s",
                "1 h",
            )
        )
    if draw.random() < 0.7:
        request["beam"] = {
            "diameter": f"{draw.choice(('0', spread(draw, 0.05, 50)))} mm",
            "diameter_definition": definition,
            "full_divergence": draw.choice((f"{spread(draw, 0.1, 100)} mrad", "10 deg")),
        }
    if draw.random() < 0.3:
        request["lens"] = {
            "focal_length": f"{spread(draw, 10, 500)} mm",
            "beam_diameter": f"{spread(draw, 1, 30)} mm",
            "diameter_definition": definition,
        }
    if draw.random() < 0.3:
        request["tip"] = {
            "diameter": f"{spread(draw, 0.1, 2)} mm",
            "full_divergence": f"{spread(draw, 1, 60)} deg",
        }
    if draw.random() < 0.3:
        request["reflection"] = {
            "reflectance": round(draw.random(), 3),
            "angle": f"{draw.randint(0, 90)} deg",
        }
    if draw.random() < 0.3:
        request["target"] = draw.choice(("eye", "skin"))
        request["skin"] = {"exposed_area": f"{spread(draw, 1, 10_000)} cm^2"}
    if draw.random() < 0.3:
        request["edition"] = draw.choice(("ICNIRP 2013", "2006/25/EC"))
    if draw.random() < 0.5:
        request["eyewear"] = {
            "material": draw.choice(("glass", "plastic")),
            "beam_size_factor": draw.random() < 0.5,
            "accumulation_window": draw.choice(("5 s", "10 s")),
        }
    if draw.random() < 0.02:
        request[draw.choice(("colour", "target", "edition"))] = "unknown"
    return request


def answer(request: dict) -> dict:
    try:
        return {"response": respond(request), "shown": []}
    except BadInput as problem:
        return {"errors": {path: problem.errors[path] for path in sorted(problem.errors)}}


def test_both_languages_answer_alike(engine: Path, tmp_path: Path) -> None:
    draw = random.Random(SEED)
    path = tmp_path / "cases.jsonl"
    seen: dict[str, int] = {}
    said: set[str] = set()
    with path.open("w", encoding="utf-8") as lines:
        for _ in range(COUNT):
            request = json.loads(json.dumps(random_request(draw)))
            expected = answer(request)
            for name in expected.get("response", {}).get("results", {}):
                seen[name] = seen.get(name, 0) + 1
            for name in expected.get("response", {}).get("absent", {}):
                seen[f"no {name}"] = seen.get(f"no {name}", 0) + 1
            response = expected.get("response", {})
            said |= {note["code"] for note in response.get("warnings", [])}
            said |= set(response.get("absent", {}).values())
            lines.write(json.dumps({"request": request, "expected": expected}) + "\n")
    result = compare(engine, path)
    assert result["differences"] == [], f"seed {SEED}"
    assert result["compared"] == COUNT
    assert 200 < result["refused"] < COUNT / 2
    # Each result has to be given and withheld often enough, or this proves little.
    assert len(seen) == 24
    assert min(seen.values()) > 50, seen
    # And so have the edition's own words.
    assert said >= {
        "stricter_than_directive", "adds_up_by_reading",
        "below 1 ns edition 2006/25/EC offers no limit for the retina",
    }  # fmt: skip


def test_the_comparison_sees_a_difference(engine: Path, tmp_path: Path) -> None:
    request = {"wavelength": "10.6 um", "exposure_time": "10 s", "emission": {"power": "10 W"}}
    expected = answer(request)
    expected["response"]["results"]["optical_density"]["value"] *= 1 + 1e-8
    path = tmp_path / "cases.jsonl"
    path.write_text(json.dumps({"request": request, "expected": expected}) + "\n")
    assert len(compare(engine, path)["differences"]) == 1

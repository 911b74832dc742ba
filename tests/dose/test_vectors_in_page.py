"""The tablet's engine against the shared vectors in a page of a real browser, not only in Node.

The tests of `pwa/tests/dose` are bundled as they are, with `pwa/tests/page/vitest.ts` in the
place of vitest, and run in Chromium.
"""

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from tests.dose.bundles import ROOT, bundle
from tests.dose.pages import page_of
from tests.story.conftest import QUIET, chromium_path

ENTRY = """
import "./tests/dose/vectors.test";
import "./tests/dose/functions.test";
import "./tests/dose/hazard.test";
export { results } from "vitest";
"""
# What the tests ask beside the vectors: three numbers JSON cannot carry, units, limits.
BESIDE_THE_VECTORS = 5
# The old limit of hazard.json stands there for its source; no edition that is offered has it.
LEFT_OUT = 1


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium_path(), args=list(QUIET))
        yield started
        started.close()


def _read(name: str) -> dict:
    return json.loads((ROOT / "tests/vectors" / f"{name}.json").read_text(encoding="utf-8"))


def _run(browser: Browser, folder: Path, target: Path) -> dict[str, str | None]:
    """Run the tests of ``folder`` in a page: what failed in each, or None."""
    stand_in = ROOT / "pwa/tests/page/vitest.ts"
    bundle(ENTRY, target / "vectors.mjs", f"--alias:vitest={stand_in}", folder=folder)
    with page_of(browser, target) as page:
        found = page.evaluate("() => import('/vectors.mjs').then(({ results }) => results)")
    return {f"{place} {one['name']}": one["problem"] for place, one in enumerate(found)}


def test_the_engine_gives_the_values_of_the_vectors_in_a_browser(
    browser: Browser, tmp_path: Path
) -> None:
    results = _run(browser, ROOT / "pwa", tmp_path)
    assert {name: problem for name, problem in results.items() if problem} == {}
    printed = _read("dose_printed")
    asked = (
        sum(len(entry["cases"]) for entry in (*printed["printed"], *printed["hand"]))
        + sum(len(entry["calls"]) for entry in _read("dose_functions")["cases"])
        + sum(len(_read(name)["cases"]) for name in ("dose_refused", "display", "hazard"))
    )
    assert len(results) == asked + BESIDE_THE_VECTORS - LEFT_OUT


def test_a_damaged_value_of_each_file_is_seen(browser: Browser, tmp_path: Path) -> None:
    for part in ("pwa/src/dose", "pwa/tests/dose", "tests/vectors"):
        shutil.copytree(ROOT / part, tmp_path / part)
    vectors = {
        name: _read(name)
        for name in
        ("dose_printed", "dose_functions", "dose_refused", "dose_units", "display", "hazard")
    }  # fmt: skip
    vectors["dose_printed"]["printed"][0]["cases"][0]["expected"]["average_power"] *= 1.001
    vectors["dose_functions"]["cases"][0]["calls"][0]["expected"] *= 1.01
    vectors["dose_refused"]["cases"][0]["errors"] = ["emission.mode"]
    vectors["dose_units"]["units"]["W"]["mW"] *= 1.001
    vectors["display"]["cases"][0]["text"] = "4.0 W"
    vectors["hazard"]["cases"][1]["published"]["value"] += 1
    for name, content in vectors.items():
        path = tmp_path / "tests/vectors" / f"{name}.json"
        path.write_text(json.dumps(content), encoding="utf-8")
    results = _run(browser, tmp_path / "pwa", tmp_path)
    failed = [name.split(" ", 1)[1] for name, problem in results.items() if problem]
    assert len(failed) == len(vectors)
    assert {"E01 emission", "average_power 4 is written 4.0 W"} <= set(failed)

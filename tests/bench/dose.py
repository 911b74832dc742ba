"""What a dose and a simulation of heat cost, on the server and in a browser.

`bash deploy/bench dose` runs this. Requests are counted against a bare echo of the same body under
the same server settings, in short rounds by turns, so that what else the machine does falls on
both. A time counts only beside that of a calibration loop, measured by turns with it.
"""

import math
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tests.bench.asking import Asked, as_body, requests_per_second, served
from tests.bench.figures import Figure, show
from tests.dose.bundles import bundle
from tests.dose.pages import page_of
from tests.story.conftest import QUIET, chromium_path
from tests.story.serving import DOSEBOOK

ROUNDS, ROUND_S = 12, 0.75
WARM_UP_S = 2.0
HEAT_RUNS = 7
BATCHES, BATCH = 30, 100
PYTHON_LOOP, BROWSER_LOOP = 2_000_000, 5_000_000

# The one of the README: a panel's numbers, a spot, the last power verification, a time.
ORDINARY = {
    "wavelength": "10.6 um",
    "emission": {"mode": "pulsed", "power": "4.5 W", "power_kind": "average",
                 "pulse_duration": "400 us", "repetition_rate": "140 Hz"},
    "spot": {"diameter": "0.25 mm", "diameter_definition": "1/e2"},
    "delivery": {"verified_ratio": 0.93, "verified_at": "2026-11-23T08:10:00+01:00"},
    "emission_time": "30 s",
}  # fmt: skip
# Every part of a request at once: a gated train, its delivery, a moving spot, tissue, intervals.
FULLEST = {
    "wavelength": "10.6 um",
    "emission": {
        "mode": "gated", "peak_power": "60 W", "pulse_duration": "300 us",
        "repetition_rate": "200 Hz", "gate_on": "50.1 ms", "gate_off": "50 ms",
    },
    "delivery": {"verified_ratio": 0.86, "verified_at": "2026-11-20T08:00:00Z",
                 "verified_ratio_uncertainty": 0.03},
    "spot": {"diameter": "0.25 mm", "diameter_definition": "1/e2"},
    "motion": {"speed": "5 mm/s"},
    "emission_time": "30 s",
    "tissue": {"kind": "oral mucosa"},
    "uncertainty": {"spot.diameter": 0.05},
}  # fmt: skip
HEAT = {
    "wavelength": "10.6 um",
    "emission": {"mode": "pulsed", "pulse_energy": "10 mJ", "repetition_rate": "100 Hz",
                 "pulse_duration": "400 us"},
    "spot": {"diameter": "0.4 mm", "diameter_definition": "1/e2"},
    "tissue": {"kind": "oral mucosa"},
    "duration": "1 s",
}  # fmt: skip

ENTRY = """
export { respond as dose } from "./src/dose/evaluate";
export { respond as heat } from "./src/dose/heat";
export function loop(count) {
  let sum = 0;
  for (let i = 1; i < count; i += 1) sum += Math.sqrt(i);
  return sum;
}
"""
# The answers are used, so that no compiler can leave out the work.
TIMED = """async ({ name, given, times, rounds, count }) => {
  const engine = await import("/engine.mjs");
  const timed = (work) => {
    const began = performance.now();
    work();
    return performance.now() - began;
  };
  let kept = 0;
  const once = () => { kept += Object.keys(engine[name](given)).length; };
  for (let i = 0; i < 3 * times; i += 1) once();
  engine.loop(count);
  const runs = [], loops = [];
  for (let round = 0; round < rounds; round += 1) {
    runs.push(timed(() => { for (let i = 0; i < times; i += 1) once(); }) / times);
    loops.push(timed(() => { kept += engine.loop(count); }));
  }
  return { runs, loops, kept };
}"""


def loop(count: int) -> float:
    """Known work, to say how fast the machine was."""
    return sum(math.sqrt(i) for i in range(1, count))


def seconds(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def timed(name: str, unit: str, want: str, runs: list[float], loops: list[float], what: dict):
    """The middle time of something, and after it that of its calibration loop."""
    detail = {**what, "best": min(runs), "runs": len(runs)}
    ratio = statistics.median(run / turn for run, turn in zip(runs, loops, strict=True))
    yield Figure(
        name=f"{name}.{unit}", value=statistics.median(runs), unit=unit, want=want,
        detail={**detail, "in_calibrations": ratio},
    )  # fmt: skip
    yield Figure(
        name=f"{name}.calibration", value=statistics.median(loops), unit=unit,
        detail={"best": min(loops), "square_roots": what["square_roots"]},
    )  # fmt: skip


def requests_vs_echo(name: str, given: dict, want: str | None, ours: int, echo: int) -> Figure:
    """Requests a second as a part of what a bare echo answers."""
    body = as_body(given)
    ports = {"dose": ours, "echo": echo}
    for port in ports.values():
        requests_per_second(port, "/api/v1/dose", body, WARM_UP_S)
    rates: dict[str, list[float]] = {"dose": [], "echo": []}
    for turn in range(ROUNDS):
        # Whoever went second goes first the next time.
        for who in sorted(ports, reverse=turn % 2 == 1):
            rates[who].append(requests_per_second(ports[who], "/api/v1/dose", body, ROUND_S))
    ratios = [a / b for a, b in zip(rates["dose"], rates["echo"], strict=True)]
    return Figure(
        name=name,
        value=statistics.median(ratios),
        unit="1",
        want=want,
        detail={
            "rounds": ROUNDS,
            "lowest": min(ratios),
            "highest": max(ratios),
            "requests_per_second": {
                who: round(statistics.median(found)) for who, found in rates.items()
            },
        },
    )


def heat_on_server(port: int) -> Iterator[Figure]:
    asked, body = Asked(port), as_body(HEAT)
    asked.post("/api/v1/heat", body)
    runs, loops = [], []
    for _ in range(HEAT_RUNS):
        runs.append(seconds(lambda: asked.post("/api/v1/heat", body)))
        loops.append(seconds(lambda: loop(PYTHON_LOOP)))
    asked.close()
    yield from timed("heat.server", "s", "<1", runs, loops, {"square_roots": PYTHON_LOOP})


def in_browser(page: Page, user_agent: str) -> Iterator[Figure]:
    what = {"square_roots": BROWSER_LOOP, "browser": user_agent}
    found = page.evaluate(
        TIMED,
        {
            "name": "dose",
            "given": FULLEST,
            "times": BATCH,
            "rounds": BATCHES,
            "count": BROWSER_LOOP,
        },
    )
    yield from timed("dose.browser", "ms", "<0.2", found["runs"], found["loops"], what)
    found = page.evaluate(
        TIMED,
        {"name": "heat", "given": HEAT, "times": 1, "rounds": HEAT_RUNS, "count": BROWSER_LOOP},
    )
    runs, loops = ([one / 1000 for one in found[name]] for name in ("runs", "loops"))
    yield from timed("heat.tablet", "s", "<0.3", runs, loops, what)


def on_server(folder: str) -> Iterator[Figure]:
    environment = {**os.environ, "DOSEBOOK_DATA": folder}
    environment.pop("DATABASE_URL", None)
    subprocess.run([DOSEBOOK, "db", "upgrade"], env=environment, check=True, stdout=sys.stderr)
    with (
        served("api.wsgi:application", folder) as ours,
        served("tests.bench.echo:application", folder) as echo,
    ):
        yield requests_vs_echo("dose.requests.vs_echo", ORDINARY, ">=0.5", ours, echo)
        # Twice as many numbers on each side, each with its interval.
        yield requests_vs_echo("dose.requests.fullest.vs_echo", FULLEST, None, ours, echo)
        yield from heat_on_server(ours)


def on_tablet(folder: str) -> Iterator[Figure]:
    bundle(ENTRY, Path(folder) / "engine.mjs", "--minify", "--target=es2022")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=list(QUIET))
        with page_of(browser, Path(folder)) as page:
            yield from in_browser(page, f"Chromium {browser.version}")
        browser.close()


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        show(on_server(folder))
        show(on_tablet(folder))
    return 0


if __name__ == "__main__":
    sys.exit(main())

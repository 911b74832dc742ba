"""The TypeScript engines as files that node can run, and their answers held against ours."""

import json
import subprocess
from pathlib import Path

ROOT = Path(__file__).parents[2]


def bundle(entry: str, target: Path, *options: str, folder: Path = ROOT / "pwa") -> Path:
    """Bundle what ``entry`` exports into one module at ``target``; its paths are from ``folder``.

    ``options`` are esbuild's own, as ``--minify``.
    """
    subprocess.run(
        [ROOT / "pwa/node_modules/.bin/esbuild", "--bundle", "--format=esm",
         f"--outfile={target}", "--log-level=warning", "--loader=ts", *options],
        input=entry, cwd=folder, text=True, check=True, timeout=60,
    )  # fmt: skip
    return target


def compare(bundled: Path, cases: Path) -> dict:
    """Answer each request of the file with the bundle; ``{compared, refused, differences}``."""
    run = subprocess.run(
        ["node", str(ROOT / "tests/dose/compare.mjs"), str(bundled), str(cases)],
        capture_output=True, text=True, check=True, timeout=120,
    )  # fmt: skip
    return json.loads(run.stdout)

"""Known holes in what Dosebook is built on: `python -m tests.house.holes`, with a network.

Both lock files are looked up in their registries' lists of advisories. What cannot be looked up,
since no list can be reached from here, is said and is no failure: it is not known to be sound.
"""

import json
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LOCKS = ("deploy/requirements.txt", "deploy/requirements-dev.txt")


@dataclass
class Found:
    """Holes in words, and what could not be looked up."""

    holes: list[str] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)


def in_python(report: str) -> Found:
    """Read what ``pip-audit --format json`` says."""
    found = Found()
    try:
        packages = json.loads(report)["dependencies"]
    except (ValueError, KeyError, TypeError):
        found.unknown.append("the Python packages: no list of advisories could be reached")
        return found
    for package in packages:
        if "skip_reason" in package:
            found.unknown.append(package["name"])
        for hole in package.get("vulns", ()):
            mended = ", ".join(hole.get("fix_versions") or ()) or "no version yet"
            found.holes.append(
                f"{package['name']} {package['version']}: {hole['id']}, mended in {mended}"
            )
    return found


def in_javascript(report: str) -> Found:
    """Read what ``npm audit --json`` says."""
    found = Found()
    try:
        packages = json.loads(report)["vulnerabilities"]
    except (ValueError, KeyError, TypeError):
        found.unknown.append("the tablet app's packages: no list of advisories could be reached")
        return found
    for name, package in sorted(packages.items()):
        titles = [via["title"] for via in package.get("via", ()) if isinstance(via, dict)]
        if titles:
            found.holes.append(f"{name} ({package['severity']}): {'; '.join(titles)}")
    return found


def look() -> Found:
    """Look both languages' lock files up."""
    whole = Found()
    for lock in LOCKS:
        done = subprocess.run(
            [
                *(sys.executable, "-m", "pip_audit", "--requirement", lock),
                *("--no-deps", "--disable-pip", "--format", "json", "--progress-spinner", "off"),
            ],
            cwd=ROOT,
            capture_output=True,
            text=True,
        )
        part = in_python(done.stdout)
        whole.holes += part.holes
        whole.unknown += part.unknown
    done = subprocess.run(
        ["npm", "audit", "--json"], cwd=ROOT / "pwa", capture_output=True, text=True
    )
    part = in_javascript(done.stdout)
    whole.holes += part.holes
    whole.unknown += part.unknown
    return whole


def main() -> int:
    """Print what is known; 1 where there is a hole."""
    found = look()
    for hole in sorted(set(found.holes)):
        print(f"known hole: {hole}")
    if found.unknown:
        print(f"not looked up: {', '.join(sorted(set(found.unknown)))}", file=sys.stderr)
    return 1 if found.holes else 0


if __name__ == "__main__":
    sys.exit(main())

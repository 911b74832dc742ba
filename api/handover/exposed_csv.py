"""The exposed cases of a laser as a table: a row for each case and each thing it is exposed to."""

import csv
import io
from collections.abc import Iterator, Mapping
from typing import Any

COLUMNS = (
    "location",
    "record_id",
    "status",
    "chart_number",
    "second_identifier",
    "procedure",
    "site",
    "operator",
    "started_at",
    "exposed_to",
    "passes",
    "passed_at",
    "passed_ratio",
    "failed_at",
    "failed_ratio",
    "ratio_least",
    "ratio_most",
    "set_energy_J",
    "delivered_energy_least_J",
    "delivered_energy_most_J",
    "out_of_service_since",
    "reason",
)
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def as_csv(found: Mapping[str, Any]) -> str:
    """Return the cases of ``exposed_cases.find`` as the text of a CSV file.

    What a spreadsheet would take for a formula gets an apostrophe before it (OWASP, CSV injection).
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for case in found["cases"]:
        for row in _rows(case):
            writer.writerow(_guarded(row.get(name)) for name in COLUMNS)
    # With the mark a spreadsheet reads the file as UTF-8.
    return "\ufeff" + out.getvalue()


def _rows(case: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    common = {
        "location": case["location_name"],
        "record_id": case["record_id"],
        "status": case["status"],
        "chart_number": case["chart_number"],
        "second_identifier": case["second_identifier"],
        "procedure": case["procedure_text"],
        "site": case["site"],
        "operator": case["operator_name"],
        "started_at": case["started_at"],
    }
    for window in case["windows"]:
        before, failed = window["passed"] or {}, window["failed"]
        yield {
            **common,
            "exposed_to": "failed power verification",
            "passes": " ".join(str(one) for one in window["passes"]),
            "passed_at": before.get("at"),
            "passed_ratio": before.get("ratio"),
            "failed_at": failed["at"],
            "failed_ratio": failed["ratio"],
            "ratio_least": window["ratio_least"],
            "ratio_most": window["ratio_most"],
            "set_energy_J": _number(window["set_energy_j"]),
            "delivered_energy_least_J": _number(window["least_energy_j"]),
            "delivered_energy_most_J": _number(window["most_energy_j"]),
        }
    if case["service"]:
        yield {
            **common,
            "exposed_to": f"out of service, {case['service'].replace('_', ' ')}",
            "out_of_service_since": case["causes"][0]["at"] if case["causes"] else None,
            "reason": "; ".join(case["reasons"]),
        }


def _number(value: float | None) -> str | None:
    return None if value is None else f"{value:.6g}"


def _guarded(cell: str | None) -> str:
    text = cell or ""
    return "'" + text if text.startswith(_FORMULA) else text

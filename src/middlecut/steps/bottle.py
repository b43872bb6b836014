# SPDX-License-Identifier: MIT
"""Fill bottles, and hold the label against what is in them."""

from __future__ import annotations

import math

from middlecut.errors import InputError
from middlecut.steps.accounts import checked_account
from middlecut.steps.lot import Lot
from middlecut.steps.mixing import share_of, state_figures
from middlecut.steps.parameters import Bottle
from middlecut.steps.result import Caution, Figure, StepResult
from middlecut.steps.scenario import NOMINAL, Scenario

__all__ = ["FILLING_LOSS", "METHANOL_LIMITS", "bottle", "remainder_name"]

FILLING_LOSS = "lost in filling"
"""The name of the filling loss in every account."""

METHANOL_LIMITS = (
    ("London gin", 5.0),
    ("vodka", 10.0),
    ("neutral alcohol", 30.0),
    ("wine spirit and brandy", 200.0),
    ("fruit and grape-marc spirit", 1000.0),
    ("fruit-marc spirit", 1500.0),
)
"""Highest methanol content by category, g per hL of pure alcohol; Regulation (EU) 2019/787, Annex I
(read)."""

_REGULATION = "Regulation (EU) 2019/787, Annex I"
_LABEL_RULE = "Regulation (EU) 1169/2011, Annex XII"
_WIDEST_TOLERANCE = 0.015
"""Widest tolerance of any drink, so that a label further off is lawful for none; Regulation (EU)
1169/2011, Annex XII (read)."""

_LOWEST_NAMED_STRENGTH = 0.375
_G_PER_HL = 100.0  # g/hL in one kg/m³


def remainder_name(into: str) -> str:
    """Return the name of what is left after the last full bottle.

    Parameters
    ----------
    into : str
        Name of the bottled lot.

    Returns
    -------
    str
        A lot name.

    Examples
    --------
    >>> remainder_name("bottles")
    'bottles remainder'
    """
    return f"{into} remainder"


def bottle(parameters: Bottle, taken: Lot, *, scenario: Scenario = NOMINAL) -> StepResult:
    """Fill as many whole bottles as a lot gives.

    Parameters
    ----------
    parameters : Bottle
        The step, as checked. Its bottle volume counts at 20 °C.
    taken : Lot
        What is bottled, under the name of the lot it came from.
    scenario : Scenario
        What is assumed beyond the plan; the tables as they are when left out.

    Returns
    -------
    StepResult
        The bottled lot and, unless the last bottle is exactly full, "<into> remainder".

    Raises
    ------
    InputError
        If the loss is more than the lot holds, or it does not fill one bottle.

    Notes
    -----
    The printed strength is held against its legal tolerance, 0.3 % vol for most spirits and
    1.5 % vol for drinks with macerated fruit or plants (Regulation (EU) 1169/2011, Annex XII).

    Examples
    --------
    >>> from middlecut.steps.parameters import Take
    >>> step = Bottle("fill", Take("cut"), "bottles", bottle_volume=0.5e-3, label_strength=0.46)
    >>> result = bottle(step, Lot("cut", water=0.9, ethanol=0.6))
    >>> next(int(row.value) for row in result.figures if row.key == "bottles")
    3
    """
    loss_share = share_of(taken, parameters.loss, field="loss")
    whole = taken.volume
    count = math.floor((whole - parameters.loss) / parameters.bottle_volume * (1.0 + 1e-9))
    if count < 1:
        raise InputError(
            "bottle_volume",
            f"{parameters.bottle_volume * 1e3:.4g} L",
            f"lot {taken.name!r} gives {(whole - parameters.loss) * 1e3:.4g} L, "
            "less than one bottle",
            "Use smaller bottles or bottle more.",
        )
    share = min(count * parameters.bottle_volume / whole, 1.0 - loss_share)
    rest_share = 1.0 - loss_share - share
    if rest_share <= 1e-9:  # what rounding left
        share, rest_share = 1.0 - loss_share, 0.0
    made = {parameters.into: taken.part(share, parameters.into)}
    if rest_share > 0.0:
        rest = remainder_name(parameters.into)
        made[rest] = taken.part(rest_share, rest)
    went = dict(made)
    if loss_share > 0.0:
        went[FILLING_LOSS] = taken.part(loss_share, FILLING_LOSS)
    return StepResult(
        step_id=parameters.id,
        kind=parameters.kind,
        made=made,
        used={taken.name: taken},
        account=checked_account(
            {taken.name: taken}, went, where=f"step {parameters.id}", scenario=scenario
        ),
        cautions=() if scenario.lean else _cautions(parameters, taken),
        figures=(
            Figure("bottles", "full bottles", float(count), "count"),
            Figure("remainder", "left over", rest_share * whole, "volume"),
            *state_figures(made[parameters.into]),
            Figure("label_strength", "strength printed", parameters.label_strength, "strength"),
            *_purity_figures(taken),
        ),
        citations=("eu_2019_787", "eu_1169_2011"),
    )


def _purity_figures(lot: Lot) -> tuple[Figure, ...]:
    if not lot.amounts or lot.pure_alcohol <= 0.0:
        return ()
    figures = []
    methanol = lot.amounts.get("methanol")
    if methanol is not None:
        per_alcohol = methanol.scaled(1.0 / lot.pure_alcohol)
        figures.append(
            Figure(
                "methanol",
                "methanol per litre of pure alcohol",
                per_alcohol.typical,
                "mass_concentration",
                per_alcohol.low,
                per_alcohol.high,
                per_alcohol.basis,
            )
        )
    others = [amount for name, amount in lot.amounts.items() if name != "methanol"]
    if others:
        figures.append(
            Figure(
                "congeners",
                "tracked congeners per litre of pure alcohol",
                sum(amount.typical for amount in others) / lot.pure_alcohol,
                "mass_concentration",
                sum(amount.low for amount in others) / lot.pure_alcohol,
                sum(amount.high for amount in others) / lot.pure_alcohol,
                "estimate",
            )
        )
    return tuple(figures)


def _cautions(parameters: Bottle, lot: Lot) -> tuple[Caution, ...]:
    cautions = [*_label_caution(parameters, lot)]
    if parameters.label_strength < _LOWEST_NAMED_STRENGTH:
        cautions.append(
            Caution(
                "label-low",
                "note",
                f"{parameters.label_strength * 100:.1f} %vol is below 37.5 %vol, the least many "
                "spirit names need in the European Union; check the rule for the name you use.",
                parameters.label_strength,
                _LOWEST_NAMED_STRENGTH,
                "1",
                _REGULATION,
            )
        )
    return (*cautions, *_methanol_caution(lot))


def _label_caution(parameters: Bottle, lot: Lot) -> tuple[Caution, ...]:
    gap = abs(lot.strength - parameters.label_strength)
    if gap <= parameters.tolerance * (1.0 + 1e-9):
        return ()
    unlawful = gap > max(_WIDEST_TOLERANCE, parameters.tolerance) * (1.0 + 1e-9)
    text = (
        f"The label says {parameters.label_strength * 100:.1f} %vol but the lot has "
        f"{lot.strength * 100:.2f} %vol: {gap * 100:.2f} %vol apart, and only "
        f"{parameters.tolerance * 100:.1f} is allowed. Correct the strength or the label."
    )
    if unlawful:
        text += (
            f" More than {_WIDEST_TOLERANCE * 100:.1f} %vol off is an unlawful label for any drink "
            "in the European Union; elsewhere ask the authority there."
        )
    return (
        Caution(
            "label-strength",
            "danger" if unlawful else "watch",
            text,
            gap,
            parameters.tolerance,
            "1",
            _LABEL_RULE,
        ),
    )


def _methanol_caution(lot: Lot) -> tuple[Caution, ...]:
    methanol = lot.amounts.get("methanol")
    if methanol is None or lot.pure_alcohol <= 0.0:
        return ()
    level = methanol.scaled(_G_PER_HL / lot.pure_alcohol)
    allowed = [f"{name} {limit:.0f}" for name, limit in METHANOL_LIMITS]
    highest = METHANOL_LIMITS[-1][1]
    above = level.high > highest
    advice = (
        "Do not drink it or pass it on before a laboratory has measured it."
        if above
        else "Only a laboratory can measure it."
    )
    return (
        Caution(
            "methanol",
            "danger" if above else "note",
            f"Methanol is expected at {level.typical:.3g} g per hL of pure alcohol "
            f"({level.low:.3g} to {level.high:.3g}, {level.basis}). Limits by category: "
            f"{', '.join(allowed)}. {advice}",
            level.typical / _G_PER_HL,
            highest / _G_PER_HL,
            "kg/m³ pure alcohol",
            _REGULATION,
        ),
    )

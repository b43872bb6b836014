# SPDX-License-Identifier: MIT
"""Make the lots of a run: cuts, residue and named losses."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import ConvergenceError
from middlecut.steps import kernel
from middlecut.steps.lot import Amount, Lot

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from middlecut.steps.columns import StillSource
    from middlecut.steps.parameters import Distil
    from middlecut.steps.run import Load, Outcome
    from middlecut.steps.still import Still

    Array = NDArray[np.float64]

__all__ = ["HELD", "LOSSES", "SPENT", "make_lots", "source_lots"]

HELD = "held in the still"
"""Name of the loss: what stays on packing and plates that do not drain back."""
SPENT = "spent solids"
"""Name of the loss: what a botanical keeps, and the liquid that clings to a bed."""
LOSSES = (HELD, SPENT)


def make_lots(
    parameters: Distil, still: Still, charge: Lot, load: Load, outcome: Outcome
) -> dict[str, Lot]:
    """Make the lots of the cuts, of the residue and of what stays behind in still and solids.

    Parameters
    ----------
    parameters : Distil
    still : Still
    charge : Lot
        What was in the boiler.
    load : Load
        The same as the run was given, with its botanicals.
    outcome : Outcome
        Of the run.

    Returns
    -------
    dict of str to Lot
        Cuts in order, then losses, then the residue.
    """
    made: dict[str, Lot] = {}
    columns, rows, state, holdup = load.columns, outcome.rows, outcome.state, outcome.holdup
    levels = list(range(1, len(holdup)))
    bed = len(holdup) - 2 if load.bed > 0.0 else None
    if bed is not None:
        levels.remove(bed)
    above = outcome.shares[levels].sum(axis=0)
    *cuts, kept, held, left = _without_dust(
        np.array(
            [
                *(rows.share[part.last] - rows.share[part.first] for part in outcome.segments),
                _kept_shares(outcome, load, bed),
                np.zeros_like(above) if still.drains_back else above,
                outcome.shares[0] + (above if still.drains_back else 0.0),
            ]
        )
    )
    for cut, segment, shares in zip(parameters.cuts, outcome.segments, cuts, strict=True):
        ethanol, total = rows.state[segment.last, -2:] - rows.state[segment.first, -2:]
        made[cut.into] = _lot(cut.into, float(ethanol), float(total), columns.collect(shares))
    above_e = float(sum(holdup[level] * state[level + 1] for level in levels))
    above_t = float(sum(holdup[level] for level in levels))
    left_e, left_t = float(state[0]), float(state[1])
    if still.drains_back:
        left_e, left_t = left_e + above_e, left_t + above_t
    else:
        made[HELD] = _lot(HELD, above_e, above_t, columns.collect(held))
    solid, given_off = _staying(columns.staying_sources, load.soak + float(rows.time[-1]))
    if (columns.release and max(columns.release) > 0.0) or bed is not None or solid:
        made[SPENT] = _spent(outcome, bed, _plus(columns.collect(kept), solid))
    amounts = columns.collect(left)
    amounts.update({name: charge.amounts[name] for name in columns.staying})
    name = parameters.residue
    made[name] = _lot(name, left_e, left_t, _plus(amounts, given_off), solids=charge.solids)
    return made


def _without_dust(parts: Array) -> Array:
    """Settle what rounding left below zero with the largest part, so that the sum stays.

    ``parts``, shape (destinations, columns): the share of each column that went where. A compound
    that has boiled away leaves the boiler with a share of ±1e-15 or so, by the integrator.
    """
    if parts.shape[1] == 0 or not (parts < 0.0).any():
        return parts
    worst = float(parts.min())
    if worst < -1e-4:
        raise ConvergenceError("The integration of the dilute compounds", len(parts), -worst)
    dust = np.minimum(parts, 0.0)
    settled = parts - dust
    settled[settled.argmax(axis=0), np.arange(parts.shape[1])] += dust.sum(axis=0)
    return settled


def _kept_shares(outcome: Outcome, load: Load, bed: int | None) -> Array:
    """Return the share of each column that is still in solids or in the liquid of the bed."""
    columns = load.columns
    sources = np.array([origin is not None for origin in columns.origins], dtype=bool)
    shares = outcome.shares[-1] + np.where(sources, 1.0 - np.array(columns.accessible), 0.0)
    return np.asarray(shares if bed is None else shares + outcome.shares[bed])


def source_lots(sources: Iterable[StillSource]) -> dict[str, Lot]:
    """Return each ingredient as a dry lot of its compounds, for the account.

    Parameters
    ----------
    sources : iterable of StillSource

    Returns
    -------
    dict of str to Lot
        By ingredient.
    """
    found: dict[str, dict[str, Amount]] = {}
    for source in sources:
        _add(found.setdefault(source.ingredient, {}), {source.compound: source.amount})
    return {
        name: Lot(name, water=0.0, ethanol=0.0, amounts=amounts) for name, amounts in found.items()
    }


def _spent(outcome: Outcome, bed: int | None, amounts: dict[str, Amount]) -> Lot:
    ethanol, total = 0.0, 0.0
    if bed is not None:
        ethanol = float(outcome.holdup[bed] * outcome.state[bed + 1])
        total = float(outcome.holdup[bed])
    return _lot(SPENT, ethanol, total, amounts)


def _staying(
    sources: tuple[StillSource, ...], time: float
) -> tuple[dict[str, Amount], dict[str, Amount]]:
    """Split what cannot boil into what the solids keep and what they give to the boiler."""
    kept: dict[str, Amount] = {}
    given: dict[str, Amount] = {}
    for source in sources:
        share = 0.0
        if source.entry_point == "charge":
            share = source.accessible * float(-np.expm1(-source.release * time))
        _add(kept, {source.compound: source.amount.scaled(1.0 - share)})
        _add(given, {source.compound: source.amount.scaled(share)})
    return kept, given


def _plus(first: dict[str, Amount], second: dict[str, Amount]) -> dict[str, Amount]:
    total = dict(first)
    _add(total, second)
    return total


def _add(total: dict[str, Amount], more: dict[str, Amount]) -> None:
    for name, amount in more.items():
        total[name] = total[name].plus(amount) if name in total else amount


def _lot(
    name: str, ethanol: float, total: float, amounts: dict[str, Amount], *, solids: float = 0.0
) -> Lot:
    return Lot(
        name,
        water=(total - ethanol) * kernel.WATER,
        ethanol=ethanol * kernel.ETHANOL,
        solids=solids,
        amounts=amounts,
    )

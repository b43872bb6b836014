# SPDX-License-Identifier: MIT
"""Make the lots of a run: cuts, residue and named losses."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

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
    for cut, segment in zip(parameters.cuts, outcome.segments, strict=True):
        ethanol, total = rows.state[segment.last, -2:] - rows.state[segment.first, -2:]
        shares = rows.share[segment.last] - rows.share[segment.first]
        made[cut.into] = _lot(cut.into, float(ethanol), float(total), columns.collect(shares))
    levels = list(range(1, len(holdup)))
    bed = len(holdup) - 2 if load.bed > 0.0 else None
    if bed is not None:
        levels.remove(bed)
    above_e = float(sum(holdup[level] * state[level + 1] for level in levels))
    above_t = float(sum(holdup[level] for level in levels))
    above_share = outcome.shares[levels].sum(axis=0)
    left_e, left_t, left_share = float(state[0]), float(state[1]), outcome.shares[0]
    if still.drains_back:
        left_e, left_t, left_share = left_e + above_e, left_t + above_t, left_share + above_share
    else:
        made[HELD] = _lot(HELD, above_e, above_t, columns.collect(above_share))
    kept, given_off = _staying(columns.staying_sources, load.soak + float(rows.time[-1]))
    if (columns.release and max(columns.release) > 0.0) or bed is not None or kept:
        made[SPENT] = _spent(outcome, load, bed, kept)
    amounts = columns.collect(left_share)
    amounts.update({name: charge.amounts[name] for name in columns.staying})
    _add(amounts, given_off)
    name = parameters.residue
    made[name] = _lot(name, left_e, left_t, amounts, solids=charge.solids)
    return made


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


def _spent(outcome: Outcome, load: Load, bed: int | None, kept: dict[str, Amount]) -> Lot:
    columns = load.columns
    sources = np.array([origin is not None for origin in columns.origins])
    shares = outcome.shares[-1] + np.where(sources, 1.0 - np.array(columns.accessible), 0.0)
    ethanol, total = 0.0, 0.0
    if bed is not None:
        ethanol = float(outcome.holdup[bed] * outcome.state[bed + 1])
        total = float(outcome.holdup[bed])
        shares = shares + outcome.shares[bed]
    amounts = columns.collect(shares)
    _add(amounts, kept)
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

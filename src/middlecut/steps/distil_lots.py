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
    from middlecut.steps.run import Outcome
    from middlecut.steps.still import Still
    from middlecut.steps.still_run import Load

    Array = NDArray[np.float64]

__all__ = ["HELD", "LOSSES", "SPENT", "make_lots", "source_lots"]

HELD = "held in the still"
"""Name of the loss: what stays on packing and plates that do not drain back."""
SPENT = "spent solids"
"""Name of the loss: what a botanical keeps, and the liquid that clings to a bed."""
LOSSES = (HELD, SPENT)
_NOTHING = (np.zeros(2), np.zeros(()))


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
    columns, rows = load.columns, outcome.rows
    above = _above(outcome, load)
    drained, stuck = (above, _NOTHING) if still.drains_back else (_NOTHING, above)
    *cuts, kept, held, left = zip(
        _without_dust(
            np.array(
                [
                    *(_bulk(rows.state[p.last] - rows.state[p.first]) for p in outcome.segments),
                    _kept(outcome, load)[0],
                    stuck[0],
                    _moles(outcome.state[0], outcome.state[1]) + drained[0],
                ]
            )
            / sum(load.amounts)
        )
        * sum(load.amounts),
        _without_dust(
            np.array(
                [
                    *(rows.share[p.last] - rows.share[p.first] for p in outcome.segments),
                    _kept(outcome, load)[1],
                    np.zeros(len(columns.compounds)) + stuck[1],
                    outcome.shares[0] + drained[1],
                ]
            )
        ),
        strict=True,
    )
    for cut, (bulk, shares) in zip(parameters.cuts, cuts, strict=True):
        made[cut.into] = _lot(cut.into, bulk, columns.collect(shares))
    if not still.drains_back:
        made[HELD] = _lot(HELD, held[0], columns.collect(held[1]))
    solid, given_off = _staying(columns.staying_sources, load.soak + float(rows.time[-1]))
    if (columns.release and max(columns.release) > 0.0) or load.bed > 0.0 or solid:
        made[SPENT] = _lot(SPENT, kept[0], _plus(columns.collect(kept[1]), solid))
    amounts = columns.collect(left[1])
    amounts.update({name: charge.amounts[name] for name in columns.staying})
    name = parameters.residue
    made[name] = _lot(name, left[0], _plus(amounts, given_off), solids=charge.solids)
    return made


def _moles(ethanol: float, total: float) -> Array:
    """Return ethanol and water. [mol]."""
    return np.array([ethanol, total - ethanol])


def _bulk(state: Array) -> Array:
    """Return ethanol and water collected, of a state or a difference of states. [mol]."""
    return _moles(state[-2], state[-1])


def _bed(outcome: Outcome, load: Load) -> int | None:
    """Return the level of the botanical bed, if there is one."""
    return len(outcome.holdup) - 2 if load.bed > 0.0 else None


def _above(outcome: Outcome, load: Load) -> tuple[Array, Array]:
    """Return what stages and head hold, without the bed: moles and shares."""
    state, holdup = outcome.state, outcome.holdup
    levels = [level for level in range(1, len(holdup)) if level != _bed(outcome, load)]
    ethanol = float(sum(holdup[level] * state[level + 1] for level in levels))
    total = float(sum(holdup[level] for level in levels))
    return _moles(ethanol, total), outcome.shares[levels].sum(axis=0)


def _kept(outcome: Outcome, load: Load) -> tuple[Array, Array]:
    """Return what solids and the liquid of the bed keep: moles and shares."""
    columns, bed = load.columns, _bed(outcome, load)
    sources = np.array([origin is not None for origin in columns.origins], dtype=bool)
    shares = outcome.shares[-1] + np.where(sources, 1.0 - np.array(columns.accessible), 0.0)
    if bed is None:
        return _NOTHING[0], np.asarray(shares)
    holdup = float(outcome.holdup[bed])
    return _moles(holdup * float(outcome.state[bed + 1]), holdup), shares + outcome.shares[bed]


def _without_dust(parts: Array) -> Array:
    """Settle what the integrator left below zero with the largest part, so that the sum stays.

    ``parts``, shape (destinations, columns): the share of each column that went where. What has
    boiled away wholly leaves the boiler with a share of about ±1e-9.
    """
    if parts.shape[1] == 0 or not (parts < 0.0).any():
        return parts
    worst = float(parts.min())
    if worst < -1e-4:
        raise ConvergenceError("The integration of the run", len(parts), -worst)
    dust = np.minimum(parts, 0.0)
    settled = parts - dust
    settled[settled.argmax(axis=0), np.arange(parts.shape[1])] += dust.sum(axis=0)
    return settled


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


def _lot(name: str, bulk: Array, amounts: dict[str, Amount], *, solids: float = 0.0) -> Lot:
    return Lot(
        name,
        water=float(bulk[1]) * kernel.WATER,
        ethanol=float(bulk[0]) * kernel.ETHANOL,
        solids=solids,
        amounts=amounts,
    )

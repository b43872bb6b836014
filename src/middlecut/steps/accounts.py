# SPDX-License-Identifier: MIT
"""Build the account of a step from the lots that came and the lots and losses that went."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from middlecut.steps.lot import Lot
from middlecut.steps.result import Account, Entry
from middlecut.steps.scenario import NOMINAL, Scenario

__all__ = ["account_of", "add_entries", "checked_account", "substances_of"]

_BULK = ("water", "ethanol", "solids")


def substances_of(lots: Iterable[Lot]) -> tuple[str, ...]:
    """Return every substance the lots hold: water, ethanol, solids, then compounds by first sight.

    Parameters
    ----------
    lots : iterable of Lot
        Lots and losses alike.

    Returns
    -------
    tuple of str
        "water", "ethanol" and "solids" always come first.
    """
    names: dict[str, None] = dict.fromkeys(_BULK)
    for lot in lots:
        names.update(dict.fromkeys(lot.amounts))
    return tuple(names)


def account_of(
    came: Mapping[str, Lot],
    went: Mapping[str, Lot],
    extra: Mapping[str, Entry] | None = None,
) -> Account:
    """Build the account of a step.

    Parameters
    ----------
    came : mapping of str to Lot
        What was put in, by the name of the lot or source ("added water").
    went : mapping of str to Lot
        Where it is now, by the name of the lot or loss ("held in the still"). A loss is a lot too.
    extra : mapping of str to Entry, optional
        By substance: what neither side's lots show, e.g. a compound "made by yeast" or ethanol
        made from sugar. Added to the entries of the lots, source by source.

    Returns
    -------
    Account
        Not yet checked; call ``check`` on it.

    Notes
    -----
    Only the typical amount of each compound is kept in the account; ranges travel with the lots.

    Examples
    --------
    >>> charge = Lot("wash", water=9.0, ethanol=1.0)
    >>> halves = {"a": charge.part(0.5, "a"), "b": charge.part(0.5, "b")}
    >>> account_of({"wash": charge}, halves).entries["ethanol"].went
    {'a': 0.5, 'b': 0.5}
    """
    entries: dict[str, Entry] = {}
    for substance in substances_of([*came.values(), *went.values()]):
        entries[substance] = Entry(
            came={name: _mass(lot, substance) for name, lot in came.items()},
            went={name: _mass(lot, substance) for name, lot in went.items()},
        )
    return Account(add_entries(entries, extra or {}))


def checked_account(
    came: Mapping[str, Lot],
    went: Mapping[str, Lot],
    extra: Mapping[str, Entry] | None = None,
    *,
    where: str,
    scenario: Scenario = NOMINAL,
) -> Account:
    """Build the account of a step and make sure that it closes.

    Parameters
    ----------
    came, went : mapping of str to Lot
        As in :func:`account_of`.
    extra : mapping of str to Entry, optional
        As in :func:`account_of`.
    where : str
        Named when the account is open.
    scenario : Scenario
        A lean one gets an empty account.

    Returns
    -------
    Account

    Raises
    ------
    BalanceError
        If a substance does not close to 1e-9.
    """
    if scenario.lean:
        return Account({})
    return account_of(came, went, extra).check(where)


def add_entries(first: Mapping[str, Entry], second: Mapping[str, Entry]) -> dict[str, Entry]:
    """Return two sets of entries added up, substance by substance and name by name.

    Parameters
    ----------
    first, second : mapping of str to Entry
        By substance.

    Returns
    -------
    dict of str to Entry
        Names in the order of ``first``, then those only in ``second``.
    """
    total = dict(first)
    for substance, entry in second.items():
        before = total.get(substance)
        total[substance] = (
            entry
            if before is None
            else Entry(_added(before.came, entry.came), _added(before.went, entry.went))
        )
    return total


def _added(first: Mapping[str, float], second: Mapping[str, float]) -> dict[str, float]:
    total = dict(first)
    for name, mass in second.items():
        total[name] = total.get(name, 0.0) + mass
    return total


def _mass(lot: Lot, substance: str) -> float:
    if substance in _BULK:
        return float(getattr(lot, substance))
    amount = lot.amounts.get(substance)
    return amount.typical if amount is not None else 0.0

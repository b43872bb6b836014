# SPDX-License-Identifier: MIT
"""How far the volatility of each compound can be trusted."""

from __future__ import annotations

from dataclasses import dataclass

from middlecut.liquid.volatility_tables import chosen

__all__ = ["Grade", "grade"]


@dataclass(frozen=True, slots=True)
class Grade:
    """How far the volatility of a compound can be trusted.

    Parameters
    ----------
    compound : str
        Name of the compound.
    grade : str
        A: three or more measured γ∞ at 60 °C or hotter. B: measured, one or two hot or several
        cold. B-: one cold point. C+: two independent sources, hot or at 25 °C, within a factor 3.
        C: one Henry constant, or recalled values within a factor 3. C-: solubility from memory.
        C?: sources disagree by more than 3. D: a prediction or an analogy. Of a carboxylic acid
        all of that is over the pressure of its monomer.
    basis : str
        ``measured``, ``anchored`` (a Henry constant or solubility) or ``estimated``.
    factor : float
        One-sigma multiplicative uncertainty of K at any composition: about two in three true
        values lie between K/factor and K·factor. The larger of the two that follow.
    water_factor : float
        The same near water, where the anchor holds.
    middle_factor : float
        The same between water and ethanol.
    middle_basis : str
        What tells about the middle, or "" where nothing does and the grade's factor is taken.
    anchor : str
        The data the water end rests on.
    note : str
        What to beware of, or "".
    vapour_pressure_basis : str
        The correlation or estimate behind the vapour pressure.
    """

    compound: str
    grade: str
    basis: str
    factor: float
    water_factor: float
    middle_factor: float
    middle_basis: str
    anchor: str
    note: str
    vapour_pressure_basis: str


def grade(compound: str) -> Grade:
    """Return what the volatility of a compound rests on and how uncertain it is.

    Parameters
    ----------
    compound : str
        Name, synonym or CAS number.

    Returns
    -------
    grade : Grade
        With the one-sigma multiplicative factor.

    Raises
    ------
    NotFoundError
        If no compound goes by that name, or if it never distils.

    Notes
    -----
    The letter tells how good the anchor in water is. Its factors are judgements: A 1.15, B 1.3,
    B- and C+ 1.5, C and C- 1.8, D 2.5; for C? the square root of the ratio of the largest to the
    smallest anchor, at least 1.8. Between water and ethanol hardly anything was measured: there
    the factor is so wide that published binary parameter sets lie within its power 1.96, by
    analogy where a compound has none. The factors of a compound of the user's own follow from
    which numbers they gave (:func:`middlecut.liquid.own_volatility.own_volatility`).

    References
    ----------
    .. [1] :cite:t:`brouwer2021`, measured limiting activity coefficients.
    .. [2] :cite:t:`sander2015`, Henry constants.

    Examples
    --------
    >>> grade("methanol").grade, grade("methanol").factor
    ('A', 1.15)

    Well measured in water, in dispute in the middle:

    >>> found = grade("3-methyl-1-butanol")
    >>> found.grade, found.water_factor, found.factor
    ('A', 1.15, 1.9)
    """
    found, (place,) = chosen((compound,))
    row = found.rows[place]
    return Grade(
        compound=row.name,
        grade=row.grade,
        basis=row.basis,
        factor=max(row.water_factor, row.middle_factor),
        water_factor=row.water_factor,
        middle_factor=row.middle_factor,
        middle_basis=row.middle_basis,
        anchor=row.anchor,
        note=row.note,
        vapour_pressure_basis=row.vapour_pressure_basis,
    )

# SPDX-License-Identifier: MIT
"""Whether oils and esters cloud a lot, and at which strength that starts on dilution.

Several oils share the droplets they form, so what counts is the sum of their saturations: an
ideal mixture of oils separates when the sum of concentration over solubility reaches 1.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from middlecut.errors import InputError, NotFoundError
from middlecut.liquid import solubility as dissolving

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from middlecut.steps.lot import Lot

__all__ = ["Louche", "LoucheRow", "louche", "louche_strength"]

FACTOR = dissolving.SOLUBILITY_FACTOR
NOTES = (
    (
        "Estimate: solubilities are right within a factor 3, so risk is told in words and the "
        "strength where clouding starts as a range."
    ),
    (
        "At 25 °C. Cold lowers every solubility: a spirit that is clear at the table may haze "
        "in a cold cellar or over ice. Long-chain esters haze first then."
    ),
    (
        "Fats, waxes, tannins, proteins and minerals of the water can cloud a spirit as well "
        "and are not in this sum."
    ),
)
_POINTS = 801


@dataclass(frozen=True, slots=True)
class LoucheRow:
    """One oil or ester of a lot against its solubility.

    Parameters
    ----------
    compound : str
        Its name.
    concentration : float
        [mg L⁻¹]
    solubility : float
        At the lot's strength, alone. [mg L⁻¹]
    saturation : float
        Concentration over solubility.
    solubility_basis : str
        Of the solubility in water: ``memory`` or ``computed``.
    """

    compound: str
    concentration: float
    solubility: float
    saturation: float
    solubility_basis: str


@dataclass(frozen=True, slots=True)
class Louche:
    """Whether a lot clouds, now and on dilution.

    Parameters
    ----------
    lot : str
        Its name.
    strength : float
        Fraction by volume at 20 °C.
    rows : tuple of LoucheRow
        The largest saturation first.
    saturation : float
        Sum over the rows; 1 is the estimate of where clouding starts.
    risk : {"clear", "may cloud", "will cloud"}
        By the sum and its factor 3.
    starts_at, starts_at_low, starts_at_high : float or None
        Strength below which water added to the lot clouds it, with its range. None: never, or for
        ``starts_at_low`` perhaps never.
    factor : float
        Uncertainty of the saturation.
    notes : tuple of str
        What to keep in mind.
    """

    lot: str
    strength: float
    rows: tuple[LoucheRow, ...]
    saturation: float
    risk: str
    starts_at: float | None
    starts_at_low: float | None
    starts_at_high: float | None
    factor: float = FACTOR
    notes: tuple[str, ...] = NOTES

    def to_dict(self) -> dict[str, Any]:
        """Return the whole as plain JSON types."""
        found: dict[str, Any] = asdict(self)
        found["rows"] = list(found["rows"])
        found["notes"] = list(self.notes)
        return found

    def to_frame(self) -> pd.DataFrame:
        """Return the rows as a table, one compound a line."""
        import pandas as pd  # noqa: PLC0415 - costly to import and not always wanted

        names = list(LoucheRow.__dataclass_fields__)
        return pd.DataFrame([asdict(row) for row in self.rows], columns=names)


def louche(lot: Lot) -> Louche:
    r"""Return how near a lot is to clouding, and where clouding starts on dilution with water.

    .. math:: \sigma(s) = \sum_i \frac{c_i\,s/s_0}{S_i(s)}

    with c_i the level in the lot, s_0 its strength and S_i the solubility at strength s;
    clouding starts at the highest s below s_0 where σ reaches 1.

    Parameters
    ----------
    lot : Lot
        Any lot of a prediction, or one made by hand.

    Returns
    -------
    Louche
        An estimate, to a factor 3 of the saturation.

    Raises
    ------
    InputError
        If the lot holds no liquid.
    NotFoundError
        If the lot names a compound that does not exist.

    Notes
    -----
    Above 80 % vol the solubility at 80 % is used, which is the smaller one. Contraction is left
    out; it moves the levels by 3 % at most.

    References
    ----------
    .. [1] :cite:t:`li1998cosolvency`, solubility against strength.

    Examples
    --------
    Two grams of trans-anethole in a litre at 45 % stay clear and cloud with water:

    >>> from middlecut.steps.lot import Amount, Lot
    >>> anise = Lot("anise", water=0.584, ethanol=0.355,
    ...             amounts={"trans-anethole": Amount(2e-3, 2e-3, 2e-3)})
    >>> found = louche(anise)
    >>> found.risk, 0.2 < found.starts_at < 0.45
    ('may cloud', True)
    """
    if not lot.volume > 0.0:
        raise InputError(
            f"lot {lot.name}", "0 L", "there is nothing to cloud", "Take a lot with liquid."
        )
    strength = lot.strength
    top = min(strength, dissolving.SOLUBILITY_STRENGTHS[1])
    rows = []
    for compound, level in lot.compounds.items():
        try:
            limit = dissolving.water_solubility(compound)
        except NotFoundError as error:
            if error.kind == "compound":
                raise
            continue
        soluble = 1e3 * dissolving.solubility(compound, top)
        rows.append(LoucheRow(compound, level, soluble, level / soluble, limit.basis))
    rows.sort(key=lambda row: (-row.saturation, row.compound))
    saturation = sum(row.saturation for row in rows)
    path = _path(rows, strength, top)
    return Louche(
        lot=lot.name,
        strength=strength,
        rows=tuple(rows),
        saturation=saturation,
        risk=_risk(saturation),
        starts_at=_start(*path, 1.0),
        starts_at_low=_start(*path, FACTOR),
        starts_at_high=_start(*path, 1.0 / FACTOR),
    )


def louche_strength(lot: Lot) -> float | None:
    """Return the strength at which water added to a lot starts to cloud it.

    Parameters
    ----------
    lot : Lot
        Any lot of a prediction, or one made by hand.

    Returns
    -------
    strength : float or None
        Fraction by volume at 20 °C; the lot's own strength when it is cloudy already; None when
        no dilution clouds it. An estimate; :func:`louche` gives its range.

    Raises
    ------
    InputError
        If the lot holds no liquid.

    References
    ----------
    .. [1] :cite:t:`li1998cosolvency`, solubility against strength.
    """
    return louche(lot).starts_at


def _risk(saturation: float) -> str:
    if saturation >= FACTOR:
        return "will cloud"
    return "may cloud" if saturation >= 1.0 / FACTOR else "clear"


def _path(
    rows: list[LoucheRow], strength: float, top: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return strengths from the lot's down to 0 and the saturation at each."""
    at = np.linspace(top, 0.0, _POINTS)
    total = np.zeros_like(at)
    for row in rows:
        diluted = row.concentration * at / strength if strength > 0.0 else np.zeros_like(at)
        total += diluted / (1e3 * np.asarray(dissolving.solubility(row.compound, at)))
    return at, total


def _start(at: NDArray[np.float64], total: NDArray[np.float64], limit: float) -> float | None:
    """Return the highest strength at which the saturation reaches a limit."""
    over = np.flatnonzero(total >= limit)
    if not over.size:
        return None
    first = int(over[0])
    if first == 0:
        return float(at[0])
    return float(np.interp(limit, total[first - 1 : first + 1], at[first - 1 : first + 1]))

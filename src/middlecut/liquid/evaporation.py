# SPDX-License-Identifier: MIT
"""What a cask loses to the air: water and ethanol by climate."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from middlecut.errors import NotFoundError
from middlecut.liquid import alcoholometry
from middlecut.liquid.oak_pieces import CASK_AREA_PER_VOLUME
from middlecut.liquid.ranges import within

__all__ = ["CLIMATES", "YEAR", "Climate", "EvaporationRates", "climate_of", "evaporation_rates"]

CLIMATES = ("cool damp", "temperate", "hot dry", "tropical")
"""The climates that have a row."""

YEAR = 31557600.0
"""[s]"""

RISE_PER_TEN_KELVIN = 2.0
"""How much faster a cask evaporates when it is 10 K warmer: 1.8 to 2.2, memory."""

_STRENGTH = 0.60
_SPAN = 15.0


@dataclass(frozen=True, slots=True)
class Climate:
    """What a full cask of 200 L loses in a year in one climate.

    Parameters
    ----------
    name : str
        One of ``CLIMATES``.
    temperature : float
        Mean over the year. [K]
    loss : tuple of float
        Low, typical and high share of the volume that goes in a year.
    loss_basis : str
        "read" or "memory", of the typical loss.
    drift : tuple of float
        Low, typical and high change of strength in a year at 60 % vol, as a fraction by volume.
    drift_basis : str
        "memory" or "estimate".
    """

    name: str
    temperature: float
    loss: tuple[float, float, float]
    loss_basis: str
    drift: tuple[float, float, float]
    drift_basis: str


@dataclass(frozen=True, slots=True)
class EvaporationRates:
    """How fast water and ethanol leave, each in proportion to what is there.

    Parameters
    ----------
    ethanol, water : float
        [s⁻¹]
    """

    ethanol: float
    water: float


@lru_cache(maxsize=1)
def _climates() -> dict[str, Climate]:
    path = files("middlecut.liquid") / "tables" / "evaporation.csv"
    found = {}
    for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines()):
        found[row["climate"]] = Climate(
            name=row["climate"],
            temperature=float(row["temperature"]),
            loss=(float(row["loss_low"]), float(row["loss_typical"]), float(row["loss_high"])),
            loss_basis=row["loss_basis"],
            drift=(float(row["drift_low"]), float(row["drift_typical"]), float(row["drift_high"])),
            drift_basis=row["drift_basis"],
        )
    return found


def climate_of(climate: str) -> Climate:
    """Return what a cask of 200 L loses in one climate.

    Parameters
    ----------
    climate : str
        ``cool damp``, ``temperate``, ``hot dry`` or ``tropical``.

    Returns
    -------
    climate : Climate
        Shares in a year.

    Raises
    ------
    NotFoundError
        If there is no such climate.

    Notes
    -----
    The 3 % of the temperate row was read for American warehouses over 12 years; all other numbers
    are memory or estimates.

    References
    ----------
    .. [1] :cite:t:`kirk_whisky`.

    Examples
    --------
    >>> climate_of("temperate").loss[1], climate_of("temperate").loss_basis
    (0.03, 'read')
    """
    try:
        return _climates()[climate]
    except KeyError:
        raise NotFoundError("climate", climate, CLIMATES) from None


def evaporation_rates(
    climate: str,
    *,
    area_per_volume: float,
    temperature: float | None = None,
    yearly_loss: float | None = None,
    end: str = "typical",
    drift_change: float = 0.0,
) -> EvaporationRates:
    r"""Return how fast water and ethanol leave a cask.

    Loss and drift of strength of a 200 L cask at 60 % vol give one rate for each of the two; both
    grow with area per volume and double for each 10 K.

    Parameters
    ----------
    climate : str
        As for :func:`climate_of`.
    area_per_volume : float
        Of the cask. [m² m⁻³] Valid 1 to 100.
    temperature : float or None
        [K] None takes that of the climate; valid within 15 K of it.
    yearly_loss : float or None
        Your own share of the volume lost in a year, in this cask at this temperature, in place of
        the table's. Valid 0 to 0.5.
    end : {"low", "typical", "high", "weaker", "stronger"}
        Low and high loss, the drift in proportion; or the typical loss with the drift that leaves
        the spirit weakest or strongest. Your own loss has no low and high.
    drift_change : float
        Added to the change of strength in a year at 60 % vol, as a fraction by volume.

    Returns
    -------
    rates : EvaporationRates
        Each over what is there.

    Raises
    ------
    OutOfRangeError
        If a number is outside its range.
    NotFoundError
        If there is no such climate or end.

    Notes
    -----
    In damp air ethanol leaves faster than water and strength falls, in dry air it rises. Rates are
    constant: that they shift as strength shifts is left out, and so are congeners, which leave
    little. A cask that is not full loses about as much for each litre here; in truth more.

    References
    ----------
    .. [1] :cite:t:`kirk_whisky`, 3.0 % a year.

    Examples
    --------
    In a damp store ethanol goes faster than water:

    >>> rates = evaporation_rates("cool damp", area_per_volume=9.05)
    >>> rates.ethanol > rates.water
    True
    """
    row = climate_of(climate)
    loss, drift = _pick(row, end)
    within("area_per_volume", area_per_volume, 1.0, 100.0, unit="m² m⁻³", source="casks")
    factor = area_per_volume / CASK_AREA_PER_VOLUME
    if temperature is not None:
        within(
            "temperature",
            temperature,
            row.temperature - _SPAN,
            row.temperature + _SPAN,
            unit="K",
            source=f"within 15 K of the climate {climate!r}",
            remedy="Choose the climate that fits, or leave the temperature out.",
        )
        factor *= RISE_PER_TEN_KELVIN ** ((temperature - row.temperature) / 10.0)
    if yearly_loss is not None:
        within("yearly_loss", yearly_loss, 0.0, 0.5, source="a share of the volume in a year")
        factor = math.log1p(-yearly_loss) / math.log1p(-row.loss[1])
        loss, drift = row.loss[1], row.drift[1] if end in {"low", "high"} else drift
    ethanol, water = _rates(loss, drift + drift_change)
    return EvaporationRates(ethanol * factor / YEAR, water * factor / YEAR)


def _pick(row: Climate, end: str) -> tuple[float, float]:
    """Return loss and drift; a smaller or larger loss carries its drift along in proportion."""
    typical = row.loss[1]
    found = {
        "low": (row.loss[0], row.drift[1] * row.loss[0] / typical),
        "typical": (typical, row.drift[1]),
        "high": (row.loss[2], row.drift[1] * row.loss[2] / typical),
        "weaker": (typical, row.drift[0]),
        "stronger": (typical, row.drift[2]),
    }
    try:
        return found[end]
    except KeyError:
        raise NotFoundError("end", end, tuple(found)) from None


def _rates(loss: float, drift: float) -> tuple[float, float]:
    """Return how fast ethanol and water leave, per year, from loss and drift of a year."""
    kept = 1.0 - loss
    ethanol = -math.log(kept * (_STRENGTH + drift) / _STRENGTH)
    water = -math.log(kept * _water(_STRENGTH + drift) / _water(_STRENGTH))
    return max(ethanol, 0.0), max(water, 0.0)  # spirit gains nothing from the air


def _water(strength: float) -> float:
    """Return the mass of water in a volume of spirit, in kg m⁻³."""
    fraction = alcoholometry.mass_fraction_from_strength(strength)
    return alcoholometry.density_20(fraction) * (1.0 - fraction)

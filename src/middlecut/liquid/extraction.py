# SPDX-License-Identifier: MIT
"""How a liquid takes compounds out of an ingredient, and how CO2 carries them off."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from middlecut.errors import NotFoundError, OutOfRangeError
from middlecut.liquid import compounds, extraction_table
from middlecut.liquid.constants import GAS_CONSTANT
from middlecut.liquid.extraction_table import Range
from middlecut.liquid.ingredients import BASES, Form, Ingredient
from middlecut.liquid.ranges import Number, as_given, within

__all__ = [
    "Release",
    "extraction",
    "solid_liquid_partition",
    "stripped_fraction_present",
    "stripped_fraction_produced",
]

LIPID_DENSITY = 900.0
"""Of plant fat and oil. [kg m⁻³] General handbooks (memory)."""

_COLDEST, _HOTTEST = 263.15, 373.65
_MOST_GAS = 1.0e6


@dataclass(frozen=True, slots=True)
class Release:
    """How a compound leaves an ingredient.

    Parameters
    ----------
    compound : str
        Name.
    rate : Range
        First-order, towards equilibrium. [s⁻¹]
    accessible : Range
        Share of the content that the liquid can reach, 0 to 1.
    partition : float
        Equilibrium content of the solid over concentration of the liquid. [m³ kg⁻¹]
    basis : str
        The weakest of the numbers used.
    """

    compound: str
    rate: Range
    accessible: Range
    partition: float
    basis: str

    def equilibrium_share(self, solid: float, liquid: float) -> float:
        """Return the share of what is accessible that ends in the liquid.

        Parameters
        ----------
        solid : float
            [kg]
        liquid : float
            [m³]

        Returns
        -------
        float
            0 to 1.
        """
        held = self.partition * solid
        return liquid / (liquid + held) if liquid + held > 0.0 else 0.0

    def released_share(self, time: float, *, solid: float, liquid: float) -> float:
        """Return the share of the content that has gone into the liquid.

        Parameters
        ----------
        time : float
            Contact. [s]
        solid : float
            [kg]
        liquid : float
            [m³]

        Returns
        -------
        float
            0 to 1.
        """
        reached = -math.expm1(-self.rate.typical * time)
        return self.accessible.typical * self.equilibrium_share(solid, liquid) * reached


def extraction(
    compound: str,
    ingredient: Ingredient,
    *,
    form: Form | None = None,
    temperature: float,
    strength: float,
    stirred: bool = False,
) -> Release:
    r"""Return how a compound leaves an ingredient.

    First order towards a partition between the liquid and the fat of the tissue,

    .. math:: k(T, f) = k_0 \exp\!\left[-\frac{E}{R}\left(\frac1T-\frac1{T_0}\right) + s\,(f-f_0)\right]

    with rates by kind of tissue and form. See :func:`solid_liquid_partition` for the equilibrium.

    Parameters
    ----------
    compound : str
        Name, synonym or CAS number; one that is not in the table stays wholly in water's reach.
    ingredient : Ingredient
        What holds it.
    form : {"whole", "coarse", "fine"} or None
        How far it is broken up; None takes the usual form.
    temperature : float
        Of the liquid. [K] Valid 263.15 to 373.65.
    strength : float
        A fraction by volume at 20 °C. Valid 0 to 0.972.
    stirred : bool
        All the time, against an occasional shake.

    Returns
    -------
    release : Release
        Rate, accessible share and partition, with ranges.

    Raises
    ------
    OutOfRangeError
        If temperature or strength lies outside its range.

    Notes
    -----
    Coffee in cold water was first order and all but done after 6 to 7 h, medium and coarse grind
    alike; all other rates are recalled or by analogy, and the row says so. The range of the rate
    at another temperature is its range at the reference times that of the activation energy. Left
    out: swelling, reactions while steeping, and the slow second stage that long steeps show.

    References
    ----------
    .. [1] :cite:t:`fuller2017`, cold-water kinetics of coffee (abstract).
    .. [2] :cite:t:`mayer2000`, transfer of coffee odorants into a hot brew (abstract).

    Examples
    --------
    Caffeine into cold water is 95 to 99 % done after 6.5 h:

    >>> from middlecut.liquid import ingredients
    >>> coffee = ingredients.find("coffee")
    >>> release = extraction("caffeine", coffee, temperature=295.65, strength=0.0)
    >>> 0.95 <= 1 - math.exp(-release.rate.typical * 6.5 * 3600) <= 0.99
    True
    """  # noqa: E501 - one equation, one line
    for name, value, low, high, unit in (
        ("temperature", temperature, _COLDEST, _HOTTEST, "K"),
        ("strength", strength, 0.0, 0.972, ""),
    ):
        if not low <= value <= high:
            raise OutOfRangeError(
                name, value, low, high, unit=unit, source="liquid at rest or at the boil"
            )
    name = _name(compound)
    row = extraction_table.tissue(ingredient.kinetics, form or ingredient.usual_form)
    bound = extraction_table.bound_share(ingredient.kinetics, name)
    accessible, basis = bound or (row.accessible, row.basis)
    return Release(
        compound=name,
        rate=_rate(row, temperature=temperature, strength=strength, stirred=stirred),
        accessible=accessible,
        partition=solid_liquid_partition(name, ingredient.lipid_share, strength),
        basis=max(basis, row.basis, ingredient.basis, key=list(BASES).index),
    )


def _rate(
    row: extraction_table.TissueRate, *, temperature: float, strength: float, stirred: bool
) -> Range:
    factor = math.exp(row.strength_slope * (strength - row.reference_strength))
    factor *= row.stirring_gain if stirred else 1.0
    inverse = 1.0 / row.reference_temperature - 1.0 / temperature
    warm = [
        math.exp(energy / GAS_CONSTANT * inverse)
        for energy in (row.activation.low, row.activation.typical, row.activation.high)
    ]
    return Range(
        row.rate.low * factor * min(warm),
        row.rate.typical * factor * warm[1],
        row.rate.high * factor * max(warm),
    )


@lru_cache(maxsize=1024)
def _name(compound: str) -> str:
    try:
        return compounds.find(compound).name
    except NotFoundError:
        return compound


def solid_liquid_partition(compound: str, lipid_share: float, strength: float) -> float:
    r"""Return the equilibrium content of a solid over the concentration of the liquid.

    The fat of the tissue is taken to hold a compound as octanol does, and ethanol to raise its
    solubility log-linearly:

    .. math:: K = \frac{\varphi}{\rho}\,10^{\,\log P - f\,(0.93 \log P + 0.40)}

    Parameters
    ----------
    compound : str
        Name, synonym or CAS number; one without log P is not held.
    lipid_share : float
        Fat and oil of the ingredient φ, a fraction 0 to 1 by mass.
    strength : float
        A fraction f by volume at 20 °C. Valid 0 to 0.972.

    Returns
    -------
    partition : float
        [m³ kg⁻¹]

    Raises
    ------
    OutOfRangeError
        If strength or lipid share lies outside its range.

    Notes
    -----
    It reproduces, without a fit, that polar coffee odorants pass into a hot brew by more than
    75 % and 2-isobutyl-3-methoxypyrazine and beta-damascenone by less than 25 %. Expect a factor
    of 3 either way. Binding to cellulose, protein and melanoidin, and the temperature, are left
    out.

    References
    ----------
    .. [1] :cite:t:`li1998cosolvency`, slope and intercept of log-linear cosolvency in ethanol.
    .. [2] :cite:t:`mayer2000`, transfer of coffee odorants (abstract).

    Examples
    --------
    >>> in_water, in_spirit = (solid_liquid_partition("vanillin", 0.15, f) for f in (0.0, 0.5))
    >>> in_spirit < in_water
    True
    """
    if not 0.0 <= lipid_share <= 1.0:
        raise OutOfRangeError("lipid_share", lipid_share, 0.0, 1.0)
    if not 0.0 <= strength <= 0.972:
        raise OutOfRangeError("strength", strength, 0.0, 0.972)
    try:
        log_p = compounds.find(compound).log_p
    except NotFoundError:
        return 0.0
    exponent = log_p - strength * max(0.93 * log_p + 0.40, 0.0)
    return lipid_share / LIPID_DENSITY * 10.0**exponent if math.isfinite(exponent) else 0.0


def stripped_fraction_present(partition: Number | float, gas_ratio: Number | float) -> Number:
    r"""Return what CO2 carries off of a compound that is there from the start.

    .. math:: 1 - \exp(-K_{aw} V)

    Parameters
    ----------
    partition : float or ndarray
        Concentration in the gas over that in the liquid K_aw, a ratio. Valid 0 to 1e6.
    gas_ratio : float or ndarray
        Volume of gas V per volume of liquid, at the temperature of the wash, a ratio. 0 to 1e6.

    Returns
    -------
    fraction : same shape as the inputs together
        0 to 1.

    Raises
    ------
    OutOfRangeError
        If an input is negative or too large.

    Notes
    -----
    The gas is taken to leave saturated. Losses published for juice without a cap agree to two
    figures when the compound forms along the way, see :func:`stripped_fraction_produced`; a cap
    of pomace loses about 0.2 points of per cent more.

    References
    ----------
    .. [1] :cite:t:`ethanol_entrainment`, losses of ethanol with the gas (abstract).

    Examples
    --------
    Ethyl hexanoate at 20 °C in a wash of 200 g/L sugar, computed:

    >>> round(100 * stripped_fraction_present(0.0193, 51.4), 2)
    62.92
    """
    share = _carried(partition, gas_ratio)
    return as_given(-np.expm1(-share))  # type: ignore[no-any-return]


def stripped_fraction_produced(partition: Number | float, gas_ratio: Number | float) -> Number:
    r"""Return what CO2 carries off of a compound that forms along with it.

    .. math:: 1 - \frac{1 - \exp(-K_{aw} V)}{K_{aw} V}

    Parameters
    ----------
    partition : float or ndarray
        Concentration in the gas over that in the liquid K_aw, a ratio. Valid 0 to 1e6.
    gas_ratio : float or ndarray
        Volume of gas V per volume of liquid, at the temperature of the wash, a ratio. 0 to 1e6.

    Returns
    -------
    fraction : same shape as the inputs together
        0 to 1.

    Raises
    ------
    OutOfRangeError
        If an input is negative or too large.

    Notes
    -----
    Half of the loss of :func:`stripped_fraction_present` while that is small. Below K_aw·V of
    1e-5 the first terms of the series are used, good to 1e-10 of the result.

    References
    ----------
    .. [1] :cite:t:`ethanol_entrainment`, losses of ethanol with the gas (abstract).

    Examples
    --------
    Ethanol from juice of 21 degrees Balling at 26.5 °C loses 0.65 %:

    >>> round(100 * stripped_fraction_produced(0.000235, 55.7), 2)
    0.65
    """
    share = _carried(partition, gas_ratio)
    safe = np.where(share > 1e-5, share, 1.0)
    exact = 1.0 + np.expm1(-safe) / safe
    series = share / 2.0 - share**2 / 6.0
    return as_given(np.where(share > 1e-5, exact, series))  # type: ignore[no-any-return]


def _carried(
    partition: object, gas_ratio: object
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    k = within("partition", partition, 0.0, _MOST_GAS)
    v = within("gas_ratio", gas_ratio, 0.0, _MOST_GAS)
    return np.asarray(k * v, dtype=np.float64)

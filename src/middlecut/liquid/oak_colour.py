# SPDX-License-Identifier: MIT
"""The colour that oak gives to spirit, in our own words."""

from __future__ import annotations

from middlecut.errors import NotFoundError
from middlecut.liquid.oak import TREATMENTS
from middlecut.liquid.ranges import Number, as_given, within

__all__ = ["COLOURS", "colour_index", "colour_name"]

COLOURS = (
    "water-white",
    "pale straw",
    "straw",
    "gold",
    "light amber",
    "amber",
    "dark amber",
)
"""Our own words for colour, palest first."""

_COLOUR_LIMITS = (0.05, 0.15, 0.35, 0.7, 1.3, 2.2)
_COLOUR_OF_TREATMENT = dict(zip(TREATMENTS, (0.4, 0.7, 1.0, 1.4, 1.4, 1.6), strict=True))


def colour_index(extract: Number, treatment: str) -> Number:
    """Return how deep the colour is.

    Parameters
    ----------
    extract : float or ndarray
        All that came out of the wood and does not boil, per volume. [kg m⁻³] Valid 0 to 100.
    treatment : str
        As for :func:`oak_content`; darker wood colours more for each gram.

    Returns
    -------
    index : float or ndarray
        A pure number for :func:`colour_name`.

    Raises
    ------
    OutOfRangeError
        If the extract is outside 0 to 100 g/L.
    NotFoundError
        If there is no such treatment.

    Notes
    -----
    An estimate through and through: no absorbance was measured. Caramel, iron and light are left
    out.

    References
    ----------
    .. [1] Ours.

    Examples
    --------
    >>> colour_name(colour_index(1.0, "heavy char"))
    'amber'
    """
    if treatment not in TREATMENTS:
        raise NotFoundError("treatment of wood", treatment, TREATMENTS)
    value = within("extract", extract, 0.0, 100.0, unit="kg m⁻³", source="wood extract")
    return as_given(value * _COLOUR_OF_TREATMENT[treatment])  # type: ignore[no-any-return]


def colour_name(index: float) -> str:
    """Return our word for a colour index.

    Parameters
    ----------
    index : float
        A pure number from :func:`colour_index`, 0 or more.

    Returns
    -------
    name : str
        One of ``COLOURS``.

    Notes
    -----
    The limits between the words are ours.

    References
    ----------
    .. [1] Ours.

    Examples
    --------
    >>> colour_name(0.0)
    'water-white'
    """
    return COLOURS[sum(index >= limit for limit in _COLOUR_LIMITS)]

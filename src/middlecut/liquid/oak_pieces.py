# SPDX-License-Identifier: MIT
"""How much oak touches the spirit: area of casks and pieces, and the depth that takes part."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from middlecut.errors import InputError, NotFoundError
from middlecut.liquid.ranges import Number, as_given, within

__all__ = [
    "ACTIVE_DEPTH",
    "CASK_AREA_PER_VOLUME",
    "FORMS",
    "OAK_DENSITY",
    "WoodForm",
    "active_mass",
    "cask_area",
    "piece_area",
    "wood_form",
]

OAK_DENSITY = 650.0
"""Of dry oak. [kg m⁻³] Memory."""

ACTIVE_DEPTH = 0.003
"""How deep the spirit works into the wood. [m]

An estimate; chosen so that a new charred cask of 200 L reaches the 2.1 mg/L of vanillin that was
read for a bourbon (:cite:t:`belitz2009`) in three to four years.
"""

CASK_AREA_PER_VOLUME = 9.05
"""Inner area over volume of a cask of 200 L. [m² m⁻³] 90.5 cm²/L.

Computed: staves along a parabola, 80 cm long, 60 cm across the bilge and 50 cm across the heads,
inside.
"""

FORMS = ("cask", "staves", "cubes", "chips", "shavings")
"""The forms of wood that have a row of rates."""

_CASK_REFERENCE = 0.2


@dataclass(frozen=True, slots=True)
class WoodForm:
    """One form of wood: usual size and how fast spirit takes up what it holds.

    Parameters
    ----------
    name : str
        One of ``FORMS``.
    size : tuple of float or None
        Length, width and thickness of a piece. [m] None for a cask.
    fast_share : float
        Share that comes out at the fast rate, 0 to 1; the rest follows at the slow one.
    fast, slow : tuple of float
        Low, typical and high rate at 20 °C. [s⁻¹]
    basis : str
        "memory" or "estimate".
    """

    name: str
    size: tuple[float, float, float] | None
    fast_share: float
    fast: tuple[float, float, float]
    slow: tuple[float, float, float]
    basis: str


def _read(row: dict[str, str]) -> WoodForm:
    def three(start: str) -> tuple[float, float, float]:
        low, typical, high = (float(row[f"{start}_{end}"]) for end in ("low", "typical", "high"))
        return low, typical, high

    size = None
    if row["length"]:
        size = (float(row["length"]), float(row["width"]), float(row["thickness"]))
    return WoodForm(
        name=row["form"],
        size=size,
        fast_share=float(row["fast_share"]),
        fast=three("fast"),
        slow=three("slow"),
        basis=row["basis"],
    )


@lru_cache(maxsize=1)
def _forms() -> dict[str, WoodForm]:
    path = files("middlecut.liquid") / "tables" / "oak_forms.csv"
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    return {form.name: form for form in map(_read, rows)}


def wood_form(form: str) -> WoodForm:
    """Return size and rates of one form of wood.

    Parameters
    ----------
    form : str
        ``cask``, ``staves``, ``cubes``, ``chips`` or ``shavings``.

    Returns
    -------
    form : WoodForm
        Rates at 20 °C.

    Raises
    ------
    NotFoundError
        If there is no such form.

    Notes
    -----
    Every rate is memory or an estimate. That a fast wash-off comes before slow penetration was
    read in abstracts.

    References
    ----------
    .. [1] :cite:t:`kadim1999`, abstract.
    .. [2] :cite:t:`delgado2022`, abstract.

    Examples
    --------
    Chips of 5 mm give off nine tenths in two to three weeks:

    >>> round(2.3026 / wood_form("chips").fast[1] / 86400)
    16
    """
    try:
        return _forms()[form]
    except KeyError:
        raise NotFoundError("form of wood", form, FORMS) from None


def cask_area(volume: Number) -> Number:
    r"""Return the inner area of a cask of a volume.

    Casks are taken as alike in shape, :math:`A = a_{200}\,V\,(V/200\,\mathrm{L})^{-1/3}`.

    Parameters
    ----------
    volume : float or ndarray
        Full to the brim. [m³] Valid 0.001 to 0.5.

    Returns
    -------
    area : float or ndarray
        [m²]

    Raises
    ------
    OutOfRangeError
        If the volume is outside 1 to 500 L.

    Notes
    -----
    Computed from geometry. Real casks are plumper or slimmer; that moves the area by a few per
    cent. Grooves and char crevices are left out.

    References
    ----------
    .. [1] Our own geometry; see ``CASK_AREA_PER_VOLUME``.

    Examples
    --------
    A cask of 20 L has 2.15 times as much wood for each litre as one of 200 L:

    >>> round(cask_area(0.02) / 0.02 / (cask_area(0.2) / 0.2), 2)
    2.15
    """
    size = within(
        "volume",
        volume,
        0.001,
        0.5,
        unit="m³",
        source="casks of 1 to 500 L",
        remedy="Give the volume of the cask; for a jar with wood in it use a form of pieces.",
    )
    area = CASK_AREA_PER_VOLUME * size * (size / _CASK_REFERENCE) ** (-1.0 / 3.0)
    return as_given(area)  # type: ignore[no-any-return]


def piece_area(size: tuple[float, float, float]) -> float:
    """Return the area of pieces over their mass.

    Parameters
    ----------
    size : tuple of float
        Length, width and thickness of one piece. [m] Each 0.0001 to 2.

    Returns
    -------
    area : float
        [m² kg⁻¹]

    Raises
    ------
    OutOfRangeError
        If a side is outside 0.1 mm to 2 m.

    Notes
    -----
    Smooth blocks of oak of 650 kg m⁻³; rough or split pieces have more area.

    References
    ----------
    .. [1] Our own geometry.

    Examples
    --------
    Cubes of 10 mm have 9.2 cm² for each gram:

    >>> round(piece_area((0.01, 0.01, 0.01)) * 10, 1)
    9.2
    """
    a, b, c = _checked(size)
    return 2.0 * (a * b + b * c + c * a) / (a * b * c * OAK_DENSITY)


def active_mass(area: Number, size: tuple[float, float, float] | None) -> Number:
    """Return the mass of wood that takes part behind an area.

    Parameters
    ----------
    area : float or ndarray
        Wetted area. [m²] 0 to 1000.
    size : tuple of float or None
        Length, width and thickness of one piece; None for the wall of a cask. [m]

    Returns
    -------
    mass : float or ndarray
        Of dry wood. [kg]

    Raises
    ------
    OutOfRangeError
        If the area or a side is out of range.

    Notes
    -----
    All wood nearer than ``ACTIVE_DEPTH`` to a surface takes part and the rest does not: pieces up
    to 6 mm thick take part whole. The depth is an estimate; in truth it grows with time.

    References
    ----------
    .. [1] Our own geometry; see ``ACTIVE_DEPTH``.

    Examples
    --------
    >>> round(active_mass(1.0, None), 4)
    1.95
    >>> round(active_mass(piece_area((0.01, 0.01, 0.01)), (0.01, 0.01, 0.01)), 3)
    0.936
    """
    wetted = within("area", area, 0.0, 1000.0, unit="m²", source="wood in one vessel")
    if size is None:
        per_area = OAK_DENSITY * ACTIVE_DEPTH
    else:
        core = math.prod(max(0.0, 1.0 - 2.0 * ACTIVE_DEPTH / side) for side in _checked(size))
        per_area = (1.0 - core) / piece_area(size)
    return as_given(wetted * per_area)  # type: ignore[no-any-return]


def _checked(size: tuple[float, float, float]) -> tuple[float, float, float]:
    if len(size) != 3:
        raise InputError(
            "size", size, "length, width and thickness are wanted", "Give three sides."
        )
    for name, side in zip(("length", "width", "thickness"), size, strict=True):
        within(name, side, 1e-4, 2.0, unit="m", source="pieces of oak")
    return size

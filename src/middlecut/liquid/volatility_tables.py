# SPDX-License-Identifier: MIT
"""The volatility tables in memory, and their interpolation in composition and temperature.

The group model's ln γ∞ lies on Chebyshev–Lobatto nodes of the ethanol volume fraction and of 1/T,
so polynomial interpolation through the nodes is exact to the rounding of the table. Correction to
the anchor in water and log-linear cosolvency are straight lines in the volume fraction; they are
added to the node values once, when the table is read, and interpolation keeps them exactly.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib.resources import files

import numpy as np

from middlecut.errors import NotFoundError
from middlecut.liquid import compounds
from middlecut.liquid.own_names import OwnCompound
from middlecut.liquid.own_volatility import own_volatility
from middlecut.liquid.ranges import Array

__all__ = [
    "TEMPERATURE_RANGE",
    "Row",
    "Tables",
    "chosen",
    "ln_gamma",
    "ln_pressure",
    "place",
    "tables",
]

TEMPERATURE_RANGE = (298.15, 385.0)
"""Temperatures the limiting activity coefficients cover. [K]"""

_ETHANOL_VOLUME, _WATER_VOLUME = 58.7, 18.07  # cm³/mol


@dataclass(frozen=True, slots=True)
class Row:
    """What the table says about one compound, apart from the numbers that are interpolated.

    Parameters
    ----------
    name, cas : str
        As in the table of compounds.
    grade : str
        How good the anchor is, from A to D.
    basis : str
        ``measured``, ``anchored`` or ``estimated``.
    water_factor : float
        One-sigma multiplicative uncertainty of K near water, which follows the grade.
    middle_factor : float
        The same between water and ethanol; never smaller.
    middle_basis : str
        What tells about the middle, or "" where nothing does.
    vapour_pressure_basis : str
        Which correlation, or which estimate.
    anchor : str
        Which data the water end rests on.
    note : str
        What to beware of, or "".
    """

    name: str
    cas: str
    grade: str
    basis: str
    water_factor: float
    middle_factor: float
    middle_basis: str
    vapour_pressure_basis: str
    anchor: str
    note: str


@dataclass(frozen=True, slots=True, eq=False)
class Tables:
    """All compounds at once.

    Parameters
    ----------
    rows : tuple of Row
        One a compound.
    index : dict
        Place of a compound by its CAS number.
    volume_fraction : ndarray, shape (nodes,)
        Of ethanol, at the nodes.
    inverse_temperature : ndarray, shape (temperatures,)
        At the nodes. [K⁻¹]
    ln_gamma : ndarray, shape (compounds, temperatures, nodes)
        Corrected to the anchor in water.
    pressure_coefficients : ndarray, shape (compounds, 3)
        ln(P/Pa) = c0 + c1/T + c2 ln T; of carboxylic acids the monomer's pressure.
    """

    rows: tuple[Row, ...]
    index: dict[str, int]
    volume_fraction: Array
    inverse_temperature: Array
    ln_gamma: Array
    pressure_coefficients: Array


def volume_fraction(x: Array) -> Array:
    """Return the ethanol volume fraction of a liquid from its mole fraction."""
    ethanol = _ETHANOL_VOLUME * x
    fraction: Array = ethanol / (ethanol + _WATER_VOLUME * (1.0 - x))
    return fraction


def interpolation(nodes: Array, at: Array) -> Array:
    """Return the matrix that turns node values into values of the interpolating polynomial.

    Barycentric form of Lagrange's polynomial (Berrut and Trefethen 2004, equation 4.2).
    """
    gaps = nodes[:, None] - nodes[None, :]
    np.fill_diagonal(gaps, 1.0)
    weights = 1.0 / gaps.prod(axis=1)
    distance = at[:, None] - nodes[None, :]
    hit = distance == 0.0
    distance[hit] = 1.0
    terms = weights / distance
    matrix: Array = terms / terms.sum(axis=1, keepdims=True)
    on_node = hit.any(axis=1)
    matrix[on_node] = hit[on_node]
    return matrix


def _product(left: Array, right: Array) -> Array:
    """Return left · rightᵀ without a linear-algebra library.

    Its helper threads keep a core busy for a while after each product; where several processes work
    side by side, as in the draws of an ensemble, that costs more than the products.
    """
    found: Array = np.einsum("pn,mn->pm", left, np.ascontiguousarray(right))
    return found


def ln_gamma(found: Tables, members: list[int], x: Array, temperature: Array) -> Array:
    """Return ln γ∞ of chosen compounds, shape (points, members), at points (x, T)."""
    by_x = interpolation(found.volume_fraction, volume_fraction(x))
    by_t = interpolation(found.inverse_temperature, 1.0 / temperature)
    chosen = found.ln_gamma[members]
    total = np.zeros((x.size, len(members)))
    for place in range(found.inverse_temperature.size):
        total += by_t[:, place, None] * _product(by_x, chosen[:, place, :])
    return total


def ln_pressure(coefficients: Array, temperature: Array) -> Array:
    """Return ln(P/Pa) of pure compounds, shape (points, compounds)."""
    terms = np.stack([np.ones_like(temperature), 1.0 / temperature, np.log(temperature)], axis=1)
    return _product(terms, coefficients)


def _rows(name: str) -> list[list[str]]:
    path = files("middlecut.liquid") / "tables" / name
    return list(csv.reader(path.read_text(encoding="utf-8").splitlines()))


def _model_values() -> tuple[Array, Array, dict[str, list[list[float]]]]:
    head, *lines = _rows("ln_gamma_model.csv")
    values: dict[str, list[list[float]]] = {}
    temperatures: dict[float, None] = {}
    for cas, temperature, *numbers in lines:
        values.setdefault(cas, []).append([float(number) for number in numbers])
        temperatures[float(temperature)] = None
    x = np.array([float(item) for item in head[2:]])
    return volume_fraction(x), 1.0 / np.array(list(temperatures)), values


def _corrected(row: dict[str, str], model: Array | None, water_share: Array) -> Array:
    """Return ln γ on the nodes: the model moved to its anchor, or log-linear cosolvency."""
    anchor = np.log(float(row["gamma_water"])) if row["gamma_water"] else None
    if model is None:
        ethanol = np.log(float(row["gamma_ethanol"]))
        line: Array = water_share * float(anchor or 0.0) + (1.0 - water_share) * ethanol
        return line
    return model if anchor is None else model + (anchor - model[:, :1]) * water_share


@lru_cache(maxsize=1)
def tables() -> Tables:
    """Read the tables once."""
    fraction, inverse_temperature, models = _model_values()
    head, *lines = _rows("volatility.csv")
    found = [dict(zip(head, line, strict=True)) for line in lines]
    shape = (len(found), inverse_temperature.size, fraction.size)
    gammas = np.empty(shape)
    for place, row in enumerate(found):
        model = np.array(models[row["cas"]]) if row["cas"] in models else None
        gammas[place] = _corrected(row, model, 1.0 - fraction)
    return Tables(
        rows=tuple(
            Row(
                **{key: row[key] for key in ("name", "cas", "grade", "basis")},
                water_factor=float(row["water_factor"]),
                middle_factor=float(row["middle_factor"]),
                middle_basis=row["middle_basis"],
                **{key: row[key] for key in ("vapour_pressure_basis", "anchor", "note")},
            )
            for row in found
        ),
        index={row["cas"]: place for place, row in enumerate(found)},
        volume_fraction=fraction,
        inverse_temperature=inverse_temperature,
        ln_gamma=gammas,
        pressure_coefficients=np.array(
            [[float(row[c]) for c in ("c0", "c1", "c2")] for row in found]
        ),
    )


def _distilling(compound: str) -> compounds.Compound:
    """Return a compound, or raise NotFoundError, which says why if it never distils."""
    found = compounds.find(compound)
    if found.nonvolatile:
        kind = f"volatility, since it stays in the boiler ({found.nonvolatile}), for a compound"
        raise NotFoundError(kind, found.name)
    return found


def place(compound: str) -> int:
    """Return the place of a compound in the tables.

    Raises NotFoundError if there is no such compound or if it never distils; then the message
    says why it does not. Compounds of the user's own have no place; see :func:`chosen`.
    """
    return tables().index[_distilling(compound).cas]


def chosen(names: tuple[str, ...]) -> tuple[Tables, list[int]]:
    """Return tables that hold these compounds, and their places in them.

    Raises NotFoundError as :func:`place` does.
    """
    found = [_distilling(name) for name in names]
    own = tuple(dict.fromkeys(one.own for one in found if one.own is not None))
    if not own:
        return tables(), [tables().index[one.cas] for one in found]
    first = len(tables().rows)
    places = {one: first + number for number, one in enumerate(own)}
    return _with_own(own), [
        tables().index[one.cas] if one.own is None else places[one.own] for one in found
    ]


@lru_cache(maxsize=16)
def _with_own(own: tuple[OwnCompound, ...]) -> Tables:
    """Return the tables with compounds of the user's own after their own rows."""
    base = tables()
    models = [own_volatility(one) for one in own]
    share = base.volume_fraction
    lines = [(1.0 - share) * one.ln_gamma[0] + share * one.ln_gamma[1] for one in models]
    shape = (base.inverse_temperature.size, share.size)
    return replace(
        base,
        rows=(*base.rows, *(_own_row(one) for one in own)),
        ln_gamma=np.concatenate([base.ln_gamma, [np.broadcast_to(line, shape) for line in lines]]),
        pressure_coefficients=np.concatenate(
            [base.pressure_coefficients, [one.pressure_coefficients for one in models]]
        ),
    )


def _own_row(own: OwnCompound) -> Row:
    found = own_volatility(own)
    water, middle = found.factors
    return Row(
        name=own.label,
        cas=own.cas,
        grade=found.grade,
        basis=found.basis,
        water_factor=water,
        middle_factor=middle,
        middle_basis="what is given, and log P" if own.anchors else "log P",
        vapour_pressure_basis=found.vapour_pressure_basis,
        anchor=found.anchor,
        note=own.note,
    )

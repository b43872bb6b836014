# SPDX-License-Identifier: MIT
"""What becomes of an ingredient in a fermenting wash: extracted, blown off, converted."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import InputError, NotFoundError, OutOfRangeError
from middlecut.liquid import extraction, extraction_table, partition
from middlecut.liquid.constants import GAS_CONSTANT
from middlecut.liquid.extraction_table import Range
from middlecut.steps.additions import PARTITION_FACTOR, Shares
from middlecut.steps.gravity_course import gravity_course
from middlecut.steps.mixing import weakest

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from middlecut.liquid.ingredients import Marker
    from middlecut.steps.gravity_course import GravityCourse
    from middlecut.steps.lot import Lot
    from middlecut.steps.parameters import Addition

    Array = NDArray[np.float64]

__all__ = ["addition_start", "air_spread", "release_in_wash", "timed"]

USUAL = 'attenuation = "90 %"'
_STEPS = 200
_COARSE_STEPS = 100
"""In draws: what stays in the wash is then within 3 % of the limit of many steps (pinene; 0.5 % for
most), nothing beside what is drawn."""
_PRESSURE = 101325.0
_CARBON_DIOXIDE_MOLAR_MASS = 44.0095e-3
_LATEST = 1.0 - 1e-6


def addition_start(
    addition: Addition, *, temperature: float, end: float, course: GravityCourse | None = None
) -> float:
    """Return when an ingredient goes into the wash.

    Parameters
    ----------
    addition : Addition
        With a time or a share of the fall in gravity.
    temperature : float
        Of the wash. [K]
    end : float
        When the wash is racked, from pitching. [s]
    course : GravityCourse or None
        None: as usual at the temperature.

    Returns
    -------
    float
        From pitching. [s]

    Raises
    ------
    InputError
        If the time is missing, or past the end, or the contact is longer than what is left.
    """
    name = addition.ingredient.name
    if addition.time is None and addition.attenuation is None:
        early = addition.entry_point == "wash-early"
        remedy = (
            'Usual for an early addition is at pitching: after = "0 h".'
            if early
            else f"Usual is when fermentation is about nine tenths done (common practice): {USUAL}."
        )
        raise InputError("add", name, "it needs a time: after, on, or attenuation", remedy)
    start = addition.time
    if start is None:
        start = _time_at(addition, course or gravity_course(temperature))
    if start >= end:
        raise InputError(
            "add",
            f"{name} after {_shown(start)}",
            f"the wash is racked after {_shown(end)}",
            "Add it earlier, or let the wash stand longer.",
        )
    if addition.contact is not None and start + addition.contact > end * (1.0 + 1e-9):
        raise InputError(
            "add",
            f"{name} for {_shown(addition.contact)}",
            f"from {_shown(start)} to the racking at {_shown(end)} there are only "
            f"{_shown(end - start)}",
            "Shorten the contact, add it earlier, or let the wash stand longer.",
        )
    return start


def timed(addition: Addition, *, course: GravityCourse, end: float) -> Addition:
    """Return an addition with a time in place of a share of the fall in gravity.

    Parameters
    ----------
    addition : Addition
    course : GravityCourse
        As one draw has it.
    end : float
        When the wash is racked, from pitching. [s]

    Returns
    -------
    Addition
        Where the fall comes too late, it goes in at the last moment that leaves it its contact.
    """
    if addition.attenuation is None:
        return addition
    latest = end - addition.contact if addition.contact is not None else end * _LATEST
    return replace(addition, time=min(_time_at(addition, course), latest), attenuation=None)


def _time_at(addition: Addition, course: GravityCourse) -> float:
    try:
        window = course.time_at_attenuation(addition.attenuation or 0.0)
    except OutOfRangeError as error:
        if error.quantity != "fraction":
            raise
        raise InputError(
            "add",
            f"{addition.ingredient.name} at {(addition.attenuation or 0.0) * 100:.4g} % done",
            "a share of the fall in gravity is 50 to 99.9 %; before that the lag rules",
            f'Give hours instead, such as after = "12 h", or take {USUAL}.',
        ) from None
    return window.typical


def _shown(time: float) -> str:
    return f"{time / 86400.0:.3g} d" if time >= 172800.0 else f"{time / 3600.0:.3g} h"


def _progress(course: GravityCourse, times: Array, duration: float) -> Array:
    """Return the share of the carbon dioxide given off by a time; 1 when the step calls it done."""
    first, last = course.fraction_done(0.0), course.fraction_done(duration)
    done = np.array([course.fraction_done(float(time)) for time in times])
    return np.minimum((done - first) / (last - first), 1.0)


def release_in_wash(
    addition: Addition,
    *,
    wash: Lot,
    carbon_dioxide: float,
    temperature: float,
    duration: float,
    settling: float,
    coarse: bool = False,
    course: GravityCourse | None = None,
    air_factors: Mapping[str, float] | None = None,
    solid_factors: Mapping[str, float] | None = None,
) -> dict[str, Shares]:
    """Return where the compounds of an ingredient go in a fermenting wash.

    Release towards partition, stripping by the carbon dioxide that is still to come, and
    conversion in step with the sugar that is still fermented, advanced together in 200 steps:
    exchange by its exact solution, the losses in between, half of the exchange on each side.

    Parameters
    ----------
    addition : Addition
        With its time.
    wash : Lot
        The finished wash.
    carbon_dioxide : float
        Given off over the whole fermentation. [kg]
    temperature : float
        [K]
    duration, settling : float
        From pitching to the final gravity, and from there to racking. [s]
    coarse : bool
        Take volume, strength and gas to within 1 %, so that the draws of an ensemble, which differ
        by little more, share results, and half as many steps.
    course : GravityCourse or None
        How gravity falls; None: as usual at the temperature.
    air_factors : mapping of str to float or None
        Factors on the partition between air and liquid, by compound.
    solid_factors : mapping of str to float or None
        The same between the solid and the liquid.

    Returns
    -------
    dict of str to Shares
        By compound; the shares of each add up to 1.

    Raises
    ------
    InputError
        If the time does not fit the step.

    Notes
    -----
    The gas leaves saturated: :cite:t:`ethanol_entrainment`. Henry constants after
    :cite:t:`sander2015`. Their correction for ethanol is known to be too strong in a wash; half of
    it on a logarithmic scale is taken. Conversion: first order in the sugar still fermented, with
    the extents of :cite:t:`spillman1998` and :cite:t:`king2000` for a whole fermentation. Left
    out: loss from an open surface, acid hydrolysis, release from glycosides, binding to yeast.
    """
    end = duration + settling
    course = course or gravity_course(temperature)
    addition_start(addition, temperature=temperature, end=end, course=course)
    airs, solids = air_factors or {}, solid_factors or {}
    compounds = [marker.compound for marker in addition.ingredient.tracked]
    return dict(
        _released(
            addition,
            volume=_near(wash.volume, coarse=coarse),
            strength=_near(wash.strength, coarse=coarse),
            carbon_dioxide=_near(carbon_dioxide, coarse=coarse),
            temperature=temperature,
            duration=duration,
            settling=settling,
            course=course,
            factors=tuple((airs.get(one, 1.0), solids.get(one, 1.0)) for one in compounds),
            coarse=coarse,
        )
    )


def _near(value: float, *, coarse: bool) -> float:
    """Return a value, or the nearest on a ladder whose rungs are 2 % apart."""
    if not coarse or value <= 0.0:
        return value
    return math.exp(round(math.log(value) / _RUNG) * _RUNG)


@lru_cache(maxsize=256)
def _released(
    addition: Addition,
    *,
    volume: float,
    strength: float,
    carbon_dioxide: float,
    temperature: float,
    duration: float,
    settling: float,
    course: GravityCourse,
    factors: tuple[tuple[float, float], ...],
    coarse: bool,
) -> tuple[tuple[str, Shares], ...]:
    """Return the shares by compound; kept, because the draws of an ensemble ask again."""
    end = duration + settling
    start = addition_start(addition, temperature=temperature, end=end, course=course)
    stop = end if addition.contact is None else min(end, start + addition.contact)
    steps = _COARSE_STEPS if coarse else _STEPS
    times = np.concatenate((np.linspace(start, stop, steps + 1), [end]))
    progress = _progress(course, times, duration)
    moles = carbon_dioxide / _CARBON_DIOXIDE_MOLAR_MASS
    gas = moles * GAS_CONSTANT * temperature / _PRESSURE / volume
    strength = strength * 0.5 * (1.0 + float(progress[0]))
    strength = round(strength, 3) if coarse else strength  # so that the draws share partitions
    markers = addition.ingredient.tracked
    rows = [
        _Row.of(marker, addition, temperature=temperature, strength=strength, air=air, solid=solid)
        for marker, (air, solid) in zip(markers, factors, strict=True)
    ]
    kept, liquid, blown, converted = _advance(
        rows, times, progress, gas=gas, mass=addition.amount, volume=volume
    )
    return tuple(
        (
            row.compound,
            Shares(
                liquid=_ordered(liquid[:, i].tolist()),
                kept=float(kept[1, i]),
                blown=float(blown[1, i]),
                converted=float(converted[1, i]),
                basis=row.basis,
            ),
        )
        for i, row in enumerate(rows)
    )


_ENDS = ("low", "typical", "high")
_RUNG = 0.02


def _ordered(shares: list[float]) -> Range:
    """Return the range of three runs; faster release may mean more loss, so sort them."""
    return Range(min(shares), shares[1], max(shares))


@dataclass(frozen=True, slots=True)
class _Row:
    """The numbers of one compound: low, typical and high are those of what stays in the wash."""

    compound: str
    rate: Range
    accessible: Range
    held: Range
    partition: Range
    conversion: Range
    basis: str

    @classmethod
    def of(
        cls,
        marker: Marker,
        addition: Addition,
        *,
        temperature: float,
        strength: float,
        air: float,
        solid: float,
    ) -> _Row:
        release = extraction.extraction(
            marker.compound,
            addition.ingredient,
            form=addition.form,
            temperature=temperature,
            strength=strength,
        )
        air = air * _air_partition(marker.compound, temperature, strength)
        off = air_spread(marker.compound) or 1.0
        held = solid * release.partition
        change = extraction_table.conversion(marker.compound)
        gone = change.gone if change else Range(0.0, 0.0, 0.0)
        rates = [-math.log1p(-min(share, 0.999)) for share in (gone.high, gone.typical, gone.low)]
        return cls(
            compound=marker.compound,
            rate=release.rate,
            accessible=release.accessible,
            held=Range(held * PARTITION_FACTOR, held, held / PARTITION_FACTOR),
            partition=Range(air * off, air, air / off),
            conversion=Range(*rates),
            basis=weakest(release.basis, change.basis if change else "read"),
        )


@lru_cache(maxsize=4096)
def _air_partition(compound: str, temperature: float, strength: float) -> float:
    water = _water_partition(compound, temperature)
    if water <= 0.0:
        return 0.0
    try:
        spirit = float(partition.air_water_partition(compound, temperature, strength))
    except NotFoundError:
        return water
    return math.sqrt(water * spirit)


def air_spread(compound: str) -> float | None:
    """Return how far the partition of a compound into the air may be off.

    Parameters
    ----------
    compound : str

    Returns
    -------
    float or None
        A factor, up or down, by the quality of its Henry constant; None where nothing goes into
        the air.
    """
    try:
        return partition.henry(compound).factor
    except NotFoundError:
        return None


@lru_cache(maxsize=256)
def _water_partition(compound: str, temperature: float) -> float:
    """Return the partition between air and plain water; 0 where none is known."""
    try:
        return float(partition.air_water_partition(compound, temperature))
    except NotFoundError:
        return 0.0


def _advance(
    rows: list[_Row],
    times: Array,
    progress: Array,
    *,
    gas: float,
    mass: float,
    volume: float,
) -> tuple[Array, Array, Array, Array]:
    """Return kept, in the liquid, blown off and converted, as shares of the content.

    Each of shape (3, rows): with the numbers of the low, the typical and the high end.
    """
    rate, accessible, air, change, held = (
        np.array([[getattr(getattr(row, key), end) for row in rows] for end in _ENDS])
        for key in ("rate", "accessible", "partition", "conversion", "held")
    )
    inside = (
        held * mass / (held * mass + volume)
    )  # share of a compound that sits in the solid at equilibrium
    made = np.diff(progress)[:, np.newaxis, np.newaxis]
    left = np.exp(-rate * 0.5 * np.diff(times)[:, np.newaxis, np.newaxis])
    left[-1] = 1.0  # after the solids are out, only the losses go on
    strip, turn = air * gas * made, change * made
    gone = -np.expm1(-(strip + turn))
    lost = np.empty_like(gone)
    solid, liquid = accessible.copy(), np.zeros_like(accessible)
    for i in range(len(made)):
        solid, liquid = _exchange(solid, liquid, inside, left[i])
        lost[i] = liquid * gone[i]
        solid, liquid = _exchange(solid, liquid - lost[i], inside, left[i])
    share = np.divide(strip, strip + turn, out=np.zeros_like(strip), where=strip + turn > 0.0)
    blown, converted = (lost * share).sum(axis=0), (lost * (1.0 - share)).sum(axis=0)
    return 1.0 - liquid - blown - converted, liquid, blown, converted


def _exchange(solid: Array, liquid: Array, inside: Array, left: Array) -> tuple[Array, Array]:
    total = solid + liquid
    resting = total * inside
    solid = resting + (solid - resting) * left
    return solid, total - solid

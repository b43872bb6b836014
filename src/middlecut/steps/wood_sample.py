# SPDX-License-Identifier: MIT
"""Scale a jar with wood in it to a batch: by area for each litre and by time."""

from __future__ import annotations

import math
from dataclasses import dataclass

from middlecut.errors import InputError, OutOfRangeError
from middlecut.liquid.oak_pieces import active_mass, cask_area, piece_area, wood_form
from middlecut.liquid.oak_rates import extracted_share
from middlecut.liquid.ranges import within

__all__ = ["JarSample", "ScaledSample", "scale_sample"]

LONGEST = 30.0 * 31557600.0
"""Longest time on wood that is looked for. [s]"""

FULL = 0.95
"""Share of a cask from which on it counts as full: a cask is never filled without any air."""

_SIZE = (0.01, 0.01, 0.01)
_RATES = ("low", "typical", "high")
_MOST_WOOD = 1000.0
"""Area of wood beyond which no jar is believed: chips packed to the brim. [m² m⁻³]"""


@dataclass(frozen=True, slots=True)
class JarSample:
    """A jar in which wood tasted right.

    Parameters
    ----------
    volume : float
        Of spirit. [m³ at 20 °C]
    form : str
        ``staves``, ``cubes``, ``chips`` or ``shavings``.
    duration : float
        Time on the wood. [s]
    mass : float or None
        Dry wood. [kg] Either this or ``area``.
    area : float or None
        Of all pieces. [m²]
    piece : tuple of float or None
        Length, width and thickness of one piece. [m] None: the usual size of the form.
    temperature : float
        [K]
    """

    volume: float
    form: str
    duration: float
    mass: float | None = None
    area: float | None = None
    piece: tuple[float, float, float] | None = None
    temperature: float = 293.15


@dataclass(frozen=True, slots=True)
class ScaledSample:
    """What a batch needs to taste of wood as the jar does.

    Parameters
    ----------
    form : str
        Of the wood on the batch.
    volume : float
        Of the batch. [m³]
    area_per_volume : float
        Area of wood. [m² m⁻³] 10 cm²/L is 1 m² m⁻³.
    sample_area_per_volume : float
        The same in the jar. [m² m⁻³]
    area : float
        [m²]
    mass : float or None
        Dry wood. [kg] None for a cask.
    duration : float or None
        Time on the wood. [s] None: this wood never gives as much.
    duration_low, duration_high : float or None
        Earliest and latest, by the range of the rates. [s] None: never.
    extracted : float
        Share of what the wood of the jar can give that had come out, 0 to 1.
    basis : str
        "computed" for the same pieces at the same temperature, else "estimate".
    does_not_scale : tuple of str
        Sentences: what will differ all the same.
    """

    form: str
    volume: float
    area_per_volume: float
    sample_area_per_volume: float
    area: float
    mass: float | None
    duration: float | None
    duration_low: float | None
    duration_high: float | None
    extracted: float
    basis: str
    does_not_scale: tuple[str, ...]

    def to_dict(self) -> dict[str, object]:
        """Return it in SI units as plain JSON types."""
        return {
            "form": self.form,
            "volume_m3": self.volume,
            "area_per_volume_per_m": self.area_per_volume,
            "sample_area_per_volume_per_m": self.sample_area_per_volume,
            "area_m2": self.area,
            "mass_kg": self.mass,
            "duration_s": self.duration,
            "duration_low_s": self.duration_low,
            "duration_high_s": self.duration_high,
            "extracted": self.extracted,
            "basis": self.basis,
            "does_not_scale": list(self.does_not_scale),
        }


def scale_sample(
    sample: JarSample,
    batch_volume: float,
    *,
    form: str | None = None,
    piece: tuple[float, float, float] | None = None,
    cask_volume: float | None = None,
    temperature: float | None = None,
) -> ScaledSample:
    """Scale a jar sample to a batch by area of wood for each litre and by time.

    The batch gets as much area for each litre as the jar; a cask has the area of its size. The
    time is the one after which as much has come out for each litre as in the jar.

    Parameters
    ----------
    sample : JarSample
        What tasted right.
    batch_volume : float
        [m³ at 20 °C] Valid 1e-5 to 5.
    form : str or None
        Form of the wood on the batch, or ``cask``. None: as in the jar.
    piece : tuple of float or None
        Length, width and thickness of one piece on the batch. [m] None: as in the jar where the
        form is the same, else the usual size.
    cask_volume : float or None
        Of the cask. [m³] Only with form ``cask``; None: as large as the batch.
    temperature : float or None
        Of the batch. [K] None: as in the jar.

    Returns
    -------
    ScaledSample
        Area, mass, time, and what does not scale.

    Raises
    ------
    InputError
        If mass and area are both given or both missing, or form and sizes do not go together.
    OutOfRangeError
        If a number is outside its range.
    NotFoundError
        If there is no such form.

    Notes
    -----
    The same species, treatment and strength are taken for jar and batch. Area and mass for the
    same pieces are computed; times across forms or temperatures rest on estimated rates.

    Examples
    --------
    2 g of chips in 200 mL for two weeks, scaled to 6 L of the same:

    >>> jar = JarSample(volume=0.2e-3, form="chips", duration=14 * 86400.0, mass=2e-3)
    >>> batch = scale_sample(jar, 6e-3)
    >>> round(batch.mass * 1e3, 6), round(batch.duration / 86400, 6)
    (60.0, 14.0)
    """
    within("batch_volume", batch_volume, 1e-5, 5.0, unit="m³", source="batches")
    within("volume", sample.volume, 1e-5, 5.0, unit="m³", source="jars", remedy="Give the jar.")
    size = _size(sample.form, sample.piece)
    area = _sample_area(sample, size)
    sample_per_volume = area / sample.volume
    target = form or sample.form
    warmth = sample.temperature if temperature is None else temperature
    same_form = target == sample.form
    batch_size = size if same_form and piece is None else _size(target, piece, cask=True)
    per_volume = _target_area(target, sample_per_volume, batch_volume, cask_volume, piece)
    alike = same_form and warmth == sample.temperature
    ratio = active_mass(sample_per_volume, size) / active_mass(per_volume, batch_size)
    if alike and batch_size == size:
        times: tuple[float | None, ...] = (sample.duration,) * 3
    else:
        times = tuple(_time(sample, ratio, target, warmth, rate, alike=alike) for rate in _RATES)
    ends = [math.inf if time is None else time for time in times]
    return ScaledSample(
        form=target,
        volume=batch_volume,
        area_per_volume=per_volume,
        sample_area_per_volume=sample_per_volume,
        area=per_volume * batch_volume,
        mass=None if batch_size is None else per_volume * batch_volume / piece_area(batch_size),
        duration=times[1],
        duration_low=None if min(ends) == math.inf else min(ends),
        duration_high=None if max(ends) == math.inf else max(ends),
        extracted=extracted_share(sample.form, sample.duration, sample.temperature),
        basis="computed" if alike and batch_size == size else "estimate",
        does_not_scale=(
            *_part_filled(batch_volume, cask_volume),
            *_differences(sample, batch_volume, target, warmth),
        ),
    )


def _size(
    form: str, piece: tuple[float, float, float] | None, *, cask: bool = False
) -> tuple[float, float, float] | None:
    usual = wood_form(form).size
    if usual is None and not cask:
        raise InputError(
            "form", form, "a jar holds pieces of wood", "Name staves, cubes, chips or shavings."
        )
    if usual is None:
        return None
    return piece or usual


def _sample_area(sample: JarSample, size: tuple[float, float, float] | None) -> float:
    if (sample.mass is None) == (sample.area is None):
        raise InputError(
            "mass",
            "nothing" if sample.mass is None else "both",
            "exactly one of mass and area of the wood is wanted",
            "Weigh the dry wood, or measure its surface.",
        )
    area = sample.area
    if area is None:
        area = (sample.mass or 0.0) * piece_area(size or _SIZE)
    if not 0.0 < area < math.inf:
        raise InputError("mass", sample.mass or area, "the jar needs some wood", "Weigh it.")
    if area > _MOST_WOOD * sample.volume:
        most = _MOST_WOOD * sample.volume
        source = "1 m2 of wood for each litre in the jar"
        remedy = "Check the wood of the jar and its unit."
        if sample.mass is None:
            raise OutOfRangeError("area", area, 0.0, most, unit="m²", source=source, remedy=remedy)
        heaviest = most / piece_area(size or _SIZE)
        raise OutOfRangeError(
            "mass", sample.mass, 0.0, heaviest, unit="kg", source=source, remedy=remedy
        )
    return area


def _target_area(
    form: str,
    sample_per_volume: float,
    batch_volume: float,
    cask_volume: float | None,
    piece: tuple[float, float, float] | None,
) -> float:
    if form != "cask":
        if cask_volume is not None:
            raise InputError(
                "cask_volume", cask_volume, "it goes with a cask only", "Leave it out."
            )
        return sample_per_volume
    if piece is not None:
        raise InputError("piece", piece, "a cask has no pieces", "Leave it out.")
    size = batch_volume if cask_volume is None else cask_volume
    if size < batch_volume * (1.0 - 1e-6):
        raise InputError(
            "cask_volume",
            f"{size * 1e3:.4g} L",
            f"a batch of {batch_volume * 1e3:.4g} L does not go in",
            "Take a larger cask.",
        )
    return cask_area(size) / size


def _time(
    sample: JarSample, ratio: float, form: str, temperature: float, rate: str, *, alike: bool
) -> float | None:
    """Return the time after which as much has come out as in the jar; None if it never does.

    The range of the rates counts for the batch; for the same form at the same temperature jar and
    batch are fast or slow together.
    """
    sample_rate = rate if alike else "typical"
    share = ratio * extracted_share(
        sample.form, sample.duration, sample.temperature, rate=sample_rate
    )
    low, high = 0.0, LONGEST
    if share >= extracted_share(form, high, temperature, rate=rate):
        return None
    for _ in range(200):
        middle = 0.5 * (low + high)
        if extracted_share(form, middle, temperature, rate=rate) < share:
            low = middle
        else:
            high = middle
        if high - low <= 1e-12 * high:
            break
    return 0.5 * (low + high)


def _part_filled(batch_volume: float, cask_volume: float | None) -> tuple[str, ...]:
    """Say what a cask does that the batch does not fill; nothing of a full one."""
    if cask_volume is None or batch_volume >= FULL * cask_volume:
        return ()
    text = (
        f"The batch fills only {batch_volume / cask_volume:.0%} of the cask: the wood is counted "
        "in proportion, as if the cask were full. Lying in it, a small filling wets more wood for "
        "each litre, the dry staves shrink and leak, and the air above brings more oxygen and "
        "evaporation. Taste earlier, or take a cask that it fills."
    )
    return (text,)


def _differences(
    sample: JarSample, batch_volume: float, form: str, temperature: float
) -> tuple[str, ...]:
    narrower = (sample.volume / batch_volume) ** (1.0 / 3.0)
    found = [
        "Wood differs from piece to piece: mix them before you weigh, and taste early.",
        "Weight alone does not scale: the same grams in finer pieces have more surface.",
    ]
    found.append(
        f"Air: for its volume the vessel of the batch has about {narrower:.2g} times the surface "
        "of the jar, so oxygen does its work at another pace; open both as often."
    )
    if form == "cask":
        found.append(
            "Evaporation: a cask loses water and ethanol through the wood, the jar did not; "
            "strength and everything dissolved shift with it."
        )
        found.append("A cask has one fresh inside; pieces also give from their cut faces.")
    else:
        found.append("Evaporation: a closed jar loses nothing; keep the batch closed as well.")
    if temperature != sample.temperature:
        found.append("Temperature: only the pace is corrected, by an estimated factor.")
    return tuple(found)

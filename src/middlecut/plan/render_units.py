# SPDX-License-Identifier: MIT
"""Which units the numbers of a sheet are shown in, metric or US."""

from __future__ import annotations

import re

from middlecut.plan.quantities import show
from middlecut.plan.sheet_parts import Phrase
from middlecut.steps.result import Figure
from middlecut.units import System, format_quantity, parse_quantity

__all__ = ["said", "shown", "shown_figure", "units_note", "warned"]

_JOINED = "\u00a0"  # holds a number and its unit on one line while wrapping
_CELSIUS = re.compile(r"(?<!by )(-?\d+(?:\.\d+)?)(?: (to|and|or) (-?\d+(?:\.\d+)?))? °C")
_VOLUME = re.compile(r"(?<![\d.,])(\d+(?:\.\d+)?) (mL|L|m³)(/h)?(?![\w/³])")
_US = (
    "US units: strengths are in proof at 60 °F, about twice the %vol; compounds are weighed in "
    "grams and what is less; where a caution counts in metric units, its temperatures are given in "
    "°F and its volumes in US units too."
)
_LEAST = {"metric": (1e-6, "under 1 mL"), "us": (3e-6, "under 0.1 US fl oz")}
"""Contraction below this is not told: no measure at hand shows it."""


def units_note(system: System) -> str:
    """Return what has to be said once of the units of a sheet; nothing of metric ones."""
    return _US if system == "us" else ""


def shown(value: float, dimension: str, system: System) -> str:
    """Return a number of a table or list: in US units a strength is in proof."""
    return show(value, dimension, system=system)


def shown_figure(figure: Figure, system: System) -> str:
    """Return the value of a figure; a contraction that nobody can measure is not spelt out."""
    least, words = _LEAST[system]
    if figure.key == "contraction" and 0.0 < abs(figure.value) < least:
        return words
    return shown(figure.value, figure.dimension, system)


def said(phrase: Phrase, system: System) -> str:
    """Return a sentence with its numbers: in US units a strength has its proof beside it."""
    texts = [_spoken(value, dimension, system) for value, dimension in phrase.quantities]
    return phrase.template.format(*(text.replace(" ", _JOINED) for text in texts))


def _spoken(value: float, dimension: str, system: System) -> str:
    text = shown(value, dimension, system)
    if dimension != "strength" or system == "metric":
        return text
    return f"{format_quantity(value, dimension)} ({text})"


def warned(text: str, system: System) -> str:
    """Return the words of a caution: in US units with those beside temperatures and volumes."""
    if system == "metric":
        return text
    return _VOLUME.sub(_us_volume, _CELSIUS.sub(_fahrenheit, text))


def _us_volume(match: re.Match[str]) -> str:
    number, unit, an_hour = match.groups()
    dimension = "gas_volume" if unit == "m³" else "volume"
    text = format_quantity(parse_quantity(f"{number} {unit}", dimension), dimension, system="us")
    figure, name = text.split(" ", 1)
    rounded = f"{float(f'{float(figure):.3g}'):.0f}" if float(figure) >= 1000.0 else figure
    return f"{match[0]} ({rounded} {name}{an_hour or ''})"


def _fahrenheit(match: re.Match[str]) -> str:
    low, word, high = match.groups()
    warm = [f"{float(number) * 1.8 + 32.0:.0f}" for number in (low, high) if number]
    return f"{match[0]} ({f' {word} '.join(warm)} °F)"

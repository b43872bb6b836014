# SPDX-License-Identifier: MIT
"""A gravity on every scale, a hydrometer at temperature, and the strength of a wash."""

from __future__ import annotations

from middlecut.cli.naming import Given, naming
from middlecut.cli.readout import Line
from middlecut.errors import InputError
from middlecut.liquid import alcoholometry, extract
from middlecut.units import parse_gravity, parse_quantity

__all__ = ["gravity_answer", "read_gravity"]


def read_gravity(text: str, field: str) -> float:
    """Return a written gravity as SG 20/20."""
    tagged = parse_gravity(text, field=field)
    if tagged.kind == "plato":
        return extract.gravity_from_plato(tagged.value)
    return tagged.value


def gravity_answer(
    value: str,
    *,
    reading_at: str | None,
    reference: str | None,
    final_gravity: str | None,
) -> tuple[str, list[Line], list[str]]:
    """Return title, lines and notes for a gravity.

    Raises
    ------
    InputError
        If the final gravity is above the original one.
    """
    given = {
        **dict.fromkeys(("gravity", "plato", "reading"), ("VALUE", value)),
        "temperature": ("--reading-at", reading_at or ""),
        "final_gravity": ("--final-gravity", final_gravity or ""),
    }
    with naming(given):
        return _answered(value, given, reading_at=reading_at, reference=reference,
                         final_gravity=final_gravity)  # fmt: skip


def _answered(
    value: str,
    given: Given,
    *,
    reading_at: str | None,
    reference: str | None,
    final_gravity: str | None,
) -> tuple[str, list[Line], list[str]]:
    gravity = read_gravity(value, "VALUE")
    title, notes, lines = value, [], []
    if reading_at is not None:
        kelvin = parse_quantity(reading_at, "temperature", field="--reading-at")
        made_for = (
            alcoholometry.TEMPERATURE_60F if reference == "60F" else alcoholometry.TEMPERATURE_20C
        )
        lines.append(Line("reading", "the hydrometer shows", gravity, "gravity", 4))
        gravity = extract.true_gravity(gravity, kelvin, reference_temperature=made_for)
        title = f"{value} read at {reading_at}"
    lines += _gravity_lines(gravity)
    if final_gravity is None:
        notes.append("With --final-gravity it also says what strength the wash will have.")
        return title, lines, notes
    with naming({**given, "plato": ("--final-gravity", final_gravity)}):
        final = read_gravity(final_gravity, "--final-gravity")
    if not final < gravity:
        raise InputError(
            "--final-gravity", final_gravity, f"it has to be below {value}", "Swap the two?"
        )
    notes.append("Strength by Balling's balance; what the gas carries off (about 1 %) is left out.")
    return f"{title}, down to {final_gravity}", lines + _wash_lines(gravity, final), notes


def _gravity_lines(gravity: float) -> list[Line]:
    plato = extract.plato_from_gravity(gravity)
    density = extract.wort_density(gravity)
    return [
        Line("gravity", "gravity, 20/20 °C", gravity, "gravity", 4),
        Line("plato", "extract by mass", plato / 100.0, "fraction", text=f"{plato:.2f} °P"),
        Line(
            "extract",
            "extract in a litre",
            plato / 100.0 * density,
            "mass_concentration",
            text=f"{plato / 100.0 * density:.1f} g/L",
        ),
        Line("density", "density at 20.0 °C", density, "density", 2),
    ]


def _wash_lines(gravity: float, final_gravity: float) -> list[Line]:
    balance = extract.ferment_balance(1e-3, gravity, final_gravity)
    return [
        Line("final_gravity", "final gravity, 20/20 °C", final_gravity, "gravity", 4),
        Line("strength", "strength of the wash", balance.strength, "strength", 2),
        Line(
            "apparent_attenuation",
            "apparent attenuation",
            extract.apparent_attenuation(gravity, final_gravity),
            "fraction",
        ),
        Line(
            "real_attenuation",
            "real attenuation",
            extract.real_attenuation(gravity, final_gravity),
            "fraction",
        ),
        Line("carbon_dioxide", "CO2 from a litre of wort", balance.carbon_dioxide, "mass"),
    ]

# SPDX-License-Identifier: MIT
"""How pages show things to the person who asks: units, theme, place, currency."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from middlecut.app.workshop import Workshop
from middlecut.units import System

__all__ = ["Preferences", "Theme", "preferences_from"]

Theme = Literal["system", "light", "dark"]


@dataclass(frozen=True, slots=True)
class Preferences:
    """What the Settings page can change.

    Parameters
    ----------
    units : {"metric", "us"}
    theme : {"system", "light", "dark"}
        System follows the device.
    place, altitude, currency : str
        As written.
    """

    units: System = "metric"
    theme: Theme = "system"
    place: str = ""
    altitude: str = "0 m"
    currency: str = "EUR"

    def local(self, moment: datetime) -> datetime:
        """Return a moment on the clock of the computer that runs the app."""
        return moment.astimezone()


def preferences_from(workshop: Workshop) -> Preferences:
    """Return the preferences that the record's settings give."""
    theme = workshop.setting("theme")
    return Preferences(
        units="us" if workshop.setting("units") == "us" else "metric",
        theme="light" if theme == "light" else "dark" if theme == "dark" else "system",
        place=workshop.setting("place"),
        altitude=workshop.setting("altitude"),
        currency=workshop.setting("currency"),
    )

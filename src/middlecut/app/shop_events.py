# SPDX-License-Identifier: MIT
"""What can happen to a still, to the settings and to the devices that may write.

The rules for a body stand in :mod:`middlecut.app.batch_events`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

__all__ = [
    "SHOP_BODIES",
    "STILL_BODIES",
    "DevicePaired",
    "DeviceRevoked",
    "FittedValue",
    "SettingsChanged",
    "ShopBody",
    "StillBody",
    "StillCalibrated",
    "StillDescribed",
]


@dataclass(frozen=True, slots=True)
class StillDescribed:
    """A still is as it stands here from now on.

    Parameters
    ----------
    name : str
        As plans call it.
    text : str
        A ``[still.NAME]`` section as in a plan file.
    reason : str
        What was changed; "" for the first.
    """

    name: str
    text: str
    reason: str = ""
    NAME: ClassVar[str] = "still.described"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class FittedValue:
    """One fitted parameter of a still.

    Parameters
    ----------
    name : str
    value : float
        [SI unit of the parameter]
    standard_error : float or None
        In the same unit; None when the runs do not determine it.
    """

    name: str
    value: float
    standard_error: float | None = None


@dataclass(frozen=True, slots=True)
class StillCalibrated:
    """Parameters of the still were fitted to a run.

    Parameters
    ----------
    values : tuple of FittedValue
    trustworthy : bool
    reasons : tuple of str
        Why it is not, or what to bear in mind.
    batch, step : str
        The run it was fitted to.
    document : str
        The whole result as JSON text, for later fits.
    """

    values: tuple[FittedValue, ...]
    trustworthy: bool
    reasons: tuple[str, ...] = ()
    batch: str = ""
    step: str = ""
    document: str = ""
    NAME: ClassVar[str] = "still.calibrated"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class SettingsChanged:
    """One setting has another value.

    Parameters
    ----------
    setting : str
        A name in :data:`middlecut.app.workshop.SETTINGS`.
    value : str
        As it is written; "" puts the setting back to its default.
    """

    setting: str
    value: str
    NAME: ClassVar[str] = "settings.changed"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class DevicePaired:
    """A phone or tablet may read and write from now on.

    Parameters
    ----------
    device : str
        Its id.
    name : str
        What the person calls it.
    token_digest : str
        SHA-256 of its secret, in hexadecimal; the secret itself is never kept.
    """

    device: str
    name: str
    token_digest: str
    NAME: ClassVar[str] = "device.paired"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class DeviceRevoked:
    """A device may not read or write any more."""

    device: str
    reason: str = ""
    NAME: ClassVar[str] = "device.revoked"
    SCHEMA: ClassVar[int] = 1


StillBody = StillDescribed | StillCalibrated
ShopBody = SettingsChanged | DevicePaired | DeviceRevoked

STILL_BODIES: tuple[type[StillBody], ...] = (StillDescribed, StillCalibrated)
"""Every body a still's stream may hold."""

SHOP_BODIES: tuple[type[ShopBody], ...] = (SettingsChanged, DevicePaired, DeviceRevoked)
"""Every body the workshop's stream may hold."""

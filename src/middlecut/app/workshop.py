# SPDX-License-Identifier: MIT
"""What holds for the whole workshop: settings, and the devices that may write."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from types import MappingProxyType

from middlecut.app.decide import Command, draft_of
from middlecut.app.events import Body, Draft, Event
from middlecut.app.shop_events import DevicePaired, DeviceRevoked, SettingsChanged
from middlecut.app.words import check_name, check_text
from middlecut.errors import InputError, NotFoundError, OutOfRangeError
from middlecut.units import parse_quantity

__all__ = [
    "SETTINGS",
    "Device",
    "Setting",
    "Workshop",
    "decide_workshop",
    "evolve_workshop",
]


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting.

    Parameters
    ----------
    name : str
    default : str
    label : str
        What it does, in words.
    check : callable
        Refuses a value that cannot be.
    """

    name: str
    default: str
    label: str
    check: Callable[[str], None]


def _one_of(field_name: str, *allowed: str) -> Callable[[str], None]:
    def check(value: str) -> None:
        if value not in allowed:
            raise InputError(field_name, value, f"it is one of {', '.join(allowed)}", "")

    return check


def _check_altitude(value: str) -> None:
    metres = parse_quantity(value, "length", field="altitude")
    if not -430.0 <= metres <= 4_500.0:
        raise OutOfRangeError("altitude", metres, -430.0, 4_500.0, unit="m")


def _check_place(value: str) -> None:
    check_name("place", value)


def _check_currency(value: str) -> None:
    if not re.fullmatch(r"[A-Z]{3}", value):
        raise InputError("currency", value, "it is three capital letters", "Write EUR or USD.")


_TABLE = (
    Setting("units", "metric", "units that numbers are shown in", _one_of("units", "metric", "us")),
    Setting("altitude", "0 m", "height of the workshop above the sea", _check_altitude),
    Setting("currency", "EUR", "currency of prices", _check_currency),
    Setting("place", "", "where the workshop is, for the records", _check_place),
    Setting("theme", "system", "colours", _one_of("theme", "system", "light", "dark")),
)

SETTINGS: Mapping[str, Setting] = MappingProxyType({row.name: row for row in _TABLE})
"""Every setting by name."""


@dataclass(frozen=True, slots=True)
class Device:
    """A device that was paired.

    Parameters
    ----------
    paired : DevicePaired
    since : datetime
    revoked : bool
    """

    paired: DevicePaired
    since: datetime
    revoked: bool = False


@dataclass(frozen=True, slots=True)
class Workshop:
    """The state of the workshop.

    Parameters
    ----------
    version : int
    changed : mapping of str to str
        Settings that differ from their defaults.
    devices : mapping of str to Device
        By id, revoked ones too.
    """

    version: int = 0
    changed: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    devices: Mapping[str, Device] = field(default_factory=lambda: MappingProxyType({}))

    def setting(self, name: str) -> str:
        """Return the value of a setting, or raise NotFoundError."""
        if name not in SETTINGS:
            raise NotFoundError("setting", name, tuple(SETTINGS))
        return self.changed.get(name, SETTINGS[name].default)

    def device_of(self, token_digest: str) -> Device | None:
        """Return the device with that secret, if it may still write."""
        for device in self.devices.values():
            if device.paired.token_digest == token_digest and not device.revoked:
                return device
        return None


def decide_workshop(
    state: Workshop, command: Command, *, now: datetime, ids: Callable[[], str]
) -> tuple[Draft, ...]:
    """Decide whether the workshop can take what is wanted.

    Parameters
    ----------
    state : Workshop
    command : Command
    now : datetime
    ids : callable
        Gives a new id each time.

    Returns
    -------
    drafts : tuple of Draft

    Raises
    ------
    InputError
        If something given cannot be.
    NotFoundError
        If a setting or device of that name does not exist.
    """
    for body in command.bodies:
        _check(state, body)
    return tuple(draft_of(body, command, now=now, new_id=ids()) for body in command.bodies)


def _check(state: Workshop, body: Body) -> None:
    if isinstance(body, SettingsChanged):
        state.setting(body.setting)
        if body.value:
            check_name(body.setting, body.value)
            SETTINGS[body.setting].check(body.value)
    elif isinstance(body, DevicePaired):
        check_name("name", body.name)
        if not re.fullmatch(r"[0-9a-f]{64}", body.token_digest):
            raise InputError("token", "…", "its digest has 64 hexadecimal digits", "Pair it again.")
        if body.device in state.devices:
            raise InputError("device", body.device, "it is already paired", "")
    elif isinstance(body, DeviceRevoked):
        check_text("reason", body.reason)
        device = state.devices.get(body.device)
        if device is None or device.revoked:
            raise NotFoundError("paired device", body.device)
    else:
        raise InputError("event", body.NAME, "it does not belong to the workshop", "")


def evolve_workshop(state: Workshop, event: Event) -> Workshop:
    """Return the workshop's state after one more event."""
    body = event.body
    changed, devices = dict(state.changed), dict(state.devices)
    if isinstance(body, SettingsChanged):
        changed.pop(body.setting, None)
        if body.value:
            changed[body.setting] = body.value
    elif isinstance(body, DevicePaired):
        devices[body.device] = Device(body, event.utc)
    elif isinstance(body, DeviceRevoked) and body.device in devices:
        devices[body.device] = replace(devices[body.device], revoked=True)
    return Workshop(event.version, MappingProxyType(changed), MappingProxyType(devices))

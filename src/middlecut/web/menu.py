# SPDX-License-Identifier: MIT
"""Find the pages and the entries of the main menu: a module in ``web/pages`` is enough."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pkgutil import iter_modules
from types import ModuleType

import middlecut.web.pages as package

__all__ = ["MenuEntry", "batch_entries", "menu_entries", "page_modules"]


@dataclass(frozen=True, slots=True, order=True)
class MenuEntry:
    """An entry of a menu; a page module offers it as ``MENU`` or, for batches, ``BATCH_MENU``.

    Parameters
    ----------
    place : int
        Order in the menu.
    label, path : str
        The path of a page of a batch has ``{batch}`` in it.
    """

    place: int
    label: str
    path: str


@cache
def page_modules() -> tuple[ModuleType, ...]:
    """Return every module in ``web/pages`` that has a ``router``, by name."""
    found = (
        import_module(f"{package.__name__}.{info.name}") for info in iter_modules(package.__path__)
    )
    return tuple(module for module in found if hasattr(module, "router"))


@cache
def menu_entries() -> tuple[MenuEntry, ...]:
    """Return the main menu in order."""
    return tuple(sorted(module.MENU for module in page_modules() if hasattr(module, "MENU")))


@cache
def batch_entries() -> tuple[MenuEntry, ...]:
    """Return the menu of a batch in order."""
    modules = page_modules()
    return tuple(sorted(one.BATCH_MENU for one in modules if hasattr(one, "BATCH_MENU")))

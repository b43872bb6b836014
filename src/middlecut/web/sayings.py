# SPDX-License-Identifier: MIT
"""Short confirmations shown after something was done; the address carries only the code."""

from __future__ import annotations

__all__ = ["SAYINGS"]

SAYINGS = {
    "saved": "Saved: it is in the record.",
    "fit-kept": "Kept: later plans of this still are predicted with it.",
    "fit-kept-untrusted": "Kept on the page of the still. No plan is predicted with it: the last "
    "fit that can be trusted counts, else the description.",
    "unchanged": "Nothing was different, so nothing was changed.",
    "opened": "The batch is open.",
    "adopted": "The new plan holds from now on.",
    "paired": "This device is paired.",
    "revoked": "That device is shut out from now on.",
    "tasted": "The tasting is in the record.",
    "mended": "A new batch is open; its plan carries the change. Look through it before you begin.",
    "described": "The description holds from now on.",
    "noted": "The note is in the record.",
    "withdrawn": "Withdrawn. Both entries stay in the record.",
}
"""Sentence of each code."""

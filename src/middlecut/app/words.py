# SPDX-License-Identifier: MIT
"""Refuse words that cannot be kept: too long, empty where a name is needed, or broken text."""

from __future__ import annotations

from middlecut.errors import InputError

__all__ = ["LONGEST_NAME", "LONGEST_TEXT", "check_name", "check_text", "check_words"]

LONGEST_NAME = 200
LONGEST_TEXT = 20_000


def check_text(field: str, text: str, longest: int = LONGEST_TEXT) -> None:
    """Refuse text that is too long or that a store cannot keep.

    Parameters
    ----------
    field : str
        Name of the field, for the message.
    text : str
    longest : int
        Characters allowed.

    Raises
    ------
    InputError
        If it cannot be kept as it is.
    """
    if len(text) > longest:
        raise InputError(
            field, text, f"it has {len(text)} characters; {longest} are allowed", "Shorten it."
        )
    if "\x00" in text or any("\ud800" <= mark <= "\udfff" for mark in text):
        raise InputError(
            field, text, "it holds characters that are no text", "Type it afresh, do not paste it."
        )


def check_name(field: str, text: str) -> None:
    """Refuse a name that is empty, has several lines or is too long.

    Parameters
    ----------
    field : str
        Name of the field, for the message.
    text : str

    Raises
    ------
    InputError
        If it is no name.
    """
    check_text(field, text, LONGEST_NAME)
    if not text.strip() or text != text.strip() or any(mark < " " for mark in text):
        raise InputError(
            field, text, "a name is one line of text without spaces around it", "Give one."
        )


def check_words(field: str, words: tuple[str, ...], most: int = 60) -> None:
    """Refuse a list of descriptors or names that is too long or holds something else.

    Parameters
    ----------
    field : str
        Name of the field, for the message.
    words : tuple of str
    most : int
        Words allowed.

    Raises
    ------
    InputError
        If it is no such list.
    """
    if len(words) > most:
        raise InputError(field, len(words), f"there are at most {most} of them", "Leave some out.")
    for word in words:
        check_name(field, word)

# SPDX-License-Identifier: MIT
"""What to know about an ingredient before drinking it, with the figures of those who set them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from middlecut.errors import NotFoundError
from middlecut.liquid.ingredient_rows import compound_name, table_rows

if TYPE_CHECKING:
    from middlecut.liquid.ingredients import Ingredient

__all__ = ["FoodSafety", "food_safety", "safety_codes"]


@dataclass(frozen=True, slots=True)
class FoodSafety:
    """Something about an ingredient that a person has to know before drinking it.

    Parameters
    ----------
    code : str
        Stable name.
    compound : str
        Marker it is about, or "".
    text : str
        What to know, with the figure and who set it.
    limit : float or None
        The figure, in ``unit``.
    unit : str
        Unit of the figure, or "".
    source : str
        Where it comes from.
    basis : str
        ``read`` or ``memory``.
    marker : str
        Content of ingredients that it is about and that is not followed through a still, or "".
    high_limit : float or None
        A second figure in ``unit``.
    high_words : str
        What the second figure is for, or "".
    acute : bool
        Whether a little too much can poison at once, so that the upper content counts.
    intake : float or None
        What a person of 60 kg should not exceed, as ``intake_words`` say. [mg]
    intake_words : str
        The figure as those who set it say it, or "".
    """

    code: str
    compound: str
    text: str
    limit: float | None
    unit: str
    source: str
    basis: str
    marker: str = ""
    high_limit: float | None = None
    high_words: str = ""
    acute: bool = False
    intake: float | None = None
    intake_words: str = ""


def _number(text: str) -> float | None:
    return float(text) if text else None


@lru_cache(maxsize=1)
def _food_safety() -> dict[str, FoodSafety]:
    return {
        row["code"]: FoodSafety(
            code=row["code"],
            compound=compound_name(row["compound"]) if row["compound"] else "",
            text=row["text"],
            limit=_number(row["limit"]),
            unit=row["unit"],
            source=row["source"],
            basis=row["basis"],
            marker=row["marker"],
            high_limit=_number(row["high_limit"]),
            high_words=row["high_words"],
            acute=row["acute"] == "yes",
            intake=_number(row["intake"]),
            intake_words=row["intake_words"],
        )
        for row in table_rows("food_safety")
    }


def safety_codes() -> tuple[str, ...]:
    """Return the codes of all food-safety cautions.

    Returns
    -------
    codes : tuple of str
        As an ingredient of the user's own may name them.

    Notes
    -----
    The caution "anyone" goes with every ingredient.

    References
    ----------
    .. [1] :cite:t:`eu_1334_2008`, Annex III.

    Examples
    --------
    >>> "thujone" in safety_codes()
    True
    """
    return tuple(_food_safety())


def food_safety(ingredient: Ingredient) -> tuple[FoodSafety, ...]:
    """Return what to know about an ingredient before drinking it.

    Parameters
    ----------
    ingredient : Ingredient
        As :func:`find` returns it.

    Returns
    -------
    cautions : tuple of FoodSafety
        Its own, then the one that holds for every ingredient.

    Raises
    ------
    NotFoundError
        If the ingredient names a caution that is not in the table.

    Notes
    -----
    Limits are those of the regulations named and may have changed; the law of the place decides
    what may be made, added, sold and said on a label. The list is not complete.

    References
    ----------
    .. [1] :cite:t:`eu_1334_2008`, Annex III.
    .. [2] :cite:t:`eu_1169_2011`, Annexes II and III.

    Examples
    --------
    >>> from middlecut.liquid.ingredients import find
    >>> [caution.limit for caution in food_safety(find("wormwood"))]
    [10.0, None]
    """
    table = _food_safety()
    for code in ingredient.safety:
        if code not in table:
            raise NotFoundError("food-safety caution", code, tuple(table)[:3])
    return tuple(table[code] for code in (*ingredient.safety, "anyone"))

# SPDX-License-Identifier: MIT
"""The pages of ``middlecut calibrate`` about laboratory results: factors before and now."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from middlecut.cli.calibrate_text import ODD, TIED, Unused, listed
from middlecut.plan.sheet_parts import Column
from middlecut.plan.text_table import lay_out

if TYPE_CHECKING:
    from middlecut.insight.narrow import Factor, NarrowedCompound
    from middlecut.insight.narrow_extraction import NarrowedExtraction

__all__ = ["extraction_lines", "factor_lines"]


def factor_lines(
    step: str, compounds: Sequence[NarrowedCompound], unused: Unused, width: int
) -> list[str]:
    """Return what is to be said of narrowed factors."""
    lines = [f"{step}: factors on what the plan predicts; 1 means as predicted.", ""]
    heads = (Column("compound"), Column("factor on"), Column("before", "-"), Column("now", "-"),
             Column("results", "-"), Column("surprise", "-"))  # fmt: skip
    body = []
    for one in compounds:
        pairs = (
            ("volatility", one.volatility_before, one.volatility),
            ("content", one.content_before, one.content),
        )
        body += [
            (one.compound if not index else "", name, _span(before),
             _with_median(after),
             str(one.results) if not index else "", f"{one.surprise:.1f}" if not index else "")
            for index, (name, before, after) in enumerate(pairs)
        ]  # fmt: skip
    lines += lay_out(heads, body, width=width)
    tied = [
        f"{one.compound}: volatility and content ({one.correlation:+.2f}); results of further "
        "lots of the run tell them apart"
        for one in compounds
        if abs(one.correlation) >= TIED
    ]
    lines += listed("Tied to each other", tied, width)
    odd = [
        f"{one.compound}: a result lies {one.surprise:.1f} standard deviations from what was "
        "thought possible; look at sample, unit and plan"
        for one in compounds
        if one.surprise > ODD
    ]
    return [*lines, *listed("Look at", odd, width), *unused.lines(width)]


def extraction_lines(found: NarrowedExtraction, unused: Unused, width: int) -> list[str]:
    """Return what is to be said of narrowed contents, extraction and partition."""
    heads = (Column("before", "-"), Column("now", "-"), Column("factor on"))
    body = [(_span(one.before), _with_median(one.after), one.label) for one in found.inputs]
    first = f"{found.step}: factors on what the plan predicts; 1 means as predicted."
    lines = [first, "", *lay_out(heads, body, width=width)]
    names = [one.label for one in found.inputs]
    tied = [
        f"{names[i]} and {names[j]} ({found.correlation[i][j]:+.2f})"
        for i in range(len(names))
        for j in range(i + 1, len(names))
        if abs(found.correlation[i][j]) >= TIED
    ]
    lines += listed("Tied to each other: one lot tells their product", tied, width)
    odd = []
    if found.surprise > ODD:
        odd.append(
            f"a result lies {found.surprise:.1f} standard deviations from what was thought "
            "possible; look at sample, unit and plan"
        )
    return [*lines, *listed("Look at", odd, width), *unused.lines(width)]


def _span(factor: Factor) -> str:
    return f"{factor.low:.2f}–{factor.high:.2f}"


def _with_median(factor: Factor) -> str:
    return f"{factor.median:.2f}, {_span(factor)}"

# SPDX-License-Identifier: MIT
"""Write docs/validation/flavour.md: extraction, stripping, conversion, oils and odour values.

Run it as ``python tools/validate_flavour.py``; the result is committed.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

import flavour_scores as scores

TARGET = Path(__file__).resolve().parent.parent / "docs" / "validation" / "flavour.md"

PAGE = """\
# Flavour

Written by `tools/validate_flavour.py` from the rows the tests use; do not edit. *Factor* is how
many times ours differs from the published number, or from the nearest end of the published range;
1.00 is agreement or inside it. *Basis* is that of the published number, as in the
[overview](README.md): most of these were read in an abstract only, or are recalled.

## What goes with the carbon dioxide

Ethanol, per cent of what is there at the end. The sugar is our choice, 0.93 of the Balling solids,
with 0.47 g of CO2 per gram; that carries about 10 %, so that two figures agreeing is partly luck. A
cap of pomace holds the gas and loses about 0.2 points more; the model has no cap.

| case | published | ours | factor | source | basis |
|---|---|---|---|---|---|
{ethanol}

Other compounds: {count} losses above 10⁻⁴ % at 20 and 30 °C, computed by another program from the
same Henry constants (basis: computed). Median factor {median:.3f}, worst {worst:.3f}. This checks
the arithmetic and not the constants; ethanol in the wash, which lowers the loss of esters by 10 to
30 % (estimate), is in neither.

## What yeast converts

Share of what was released, added at pitching. Ours lies a little lower where release takes longer
than the yeast is at work.

| ingredient, compound | published | ours | factor | source | basis |
|---|---|---|---|---|---|
{yeast}

Our extents of conversion were taken from these ranges; what is tested is that release, stripping
and conversion together still arrive there.

## Coffee in cold water

Share of the way to equilibrium for caffeine. Our rate was made of the first row, so that only the
second is a test.

| after | published | ours | factor | source | basis |
|---|---|---|---|---|---|
{cold}

## Coffee in a hot brew

Share that passes from 54 g of ground coffee into a litre, where it ends; how fast a hot brew gets
there is beyond the cold rates. 2-Furfurylthiol is held back by a share taken from this same source;
the others follow from how they divide between water and the fat of the beans, which is a test.

| compound | published | ours | factor | source | basis |
|---|---|---|---|---|---|
{brew}

## Odorants of a malt whisky

Odour activity values, level over threshold. Levels: Belitz, Grosch, Schieberle 2009, table 20.28
(read). *Published* is that level over the threshold named, worked out by hand; thresholds in 40 %
vol are ours too, so a factor of 1.00 says that level, medium and threshold are looked up rightly,
and no more. Panels differ by 10 to 100 times. What does test is the order: ethyl butanoate,
hexanoate and octanoate belong to the highest of a whisky, phenylethanol and guaiacol do not
(Poisson and Schieberle 2008 on a bourbon, recalled).

| rank | compound | published | ours | factor | source of the threshold | basis |
|---|---|---|---|---|---|---|
{odours}

## Oil of spices

Per cent of the mass. Ours is the sum of the markers, which should be most of the oil and no more;
the tests ask for half of the low end. Most markers were made of such yields times shares of the
oil, so that this checks that they add up, and not an independent measurement.

| ingredient | published | ours | factor | source | basis |
|---|---|---|---|---|---|
{oils}

## What is not compared here

Common practice (late additions, baskets, vanilla, heads) has no published numbers; it stands in
`tests/reference/test_flavour_practice.py`, with what the model says differently: a whole vanilla
pod is too slow for a late addition; a basket of juniper is lighter in amount but not in kind; one
pod in a flavour run is not noticed at all; 20 mL of heads of a flavour run hold little of the
esters.
"""


def factor(ours: float, low: float, high: float) -> float:
    """How many times a number is outside a range, 1 inside."""
    return max(low / ours if low > 0.0 else 0.0, ours / high, 1.0)


def span(low: float, high: float) -> str:
    """Say a range in per cent."""
    if low == 0.0:
        return f"below {high * 100:g} %"
    if high == 1.0:
        return f"above {low * 100:g} %"
    return f"{low * 100:g} to {high * 100:g} %"


def line(name: str, row: dict[str, str]) -> str:
    """One table line of a range."""
    low, high, ours = float(row["low"]), float(row["high"]), scores.ours(row)
    note = f" ({row['note']})" if row["note"] else ""
    return (
        f"| {name} | {span(low, high)} | {ours * 100:.3g} % | {factor(ours, low, high):.2f} "
        f"| {row['source']}{note} | {row['basis']} |"
    )


def lines(*kinds: str) -> str:
    """Table lines of one or more kinds."""
    names = {"cold 6.5 h": "6.5 h at 23 °C", "cold 10 h": "10 h at 20 °C"}
    return "\n".join(
        line(
            names.get(kind)
            or {"oil": row["ingredient"], "hot brew": row["compound"]}.get(kind)
            or f"{row['ingredient']}, {row['compound']}",
            row,
        )
        for kind in kinds
        for row in scores.rows(kind)
    )


def ethanol_lines() -> str:
    """Losses of ethanol with the gas."""
    source = "Am. J. Enol. Vitic., 1950s (abstract)"
    found = []
    for row in scores.read("ethanol_entrainment"):
        theirs, ours = float(row["loss"]), scores.ethanol_loss(row)
        case = f"{row['case']}, {row['temperature']} °C, {row['note']}"
        found.append(
            f"| {case} | {theirs:g} % | {ours:.2f} % "
            f"| {factor(ours, theirs, theirs):.2f} | {source} | {row['basis']} |"
        )
    return "\n".join(found)


def stripping_factors() -> list[float]:
    """How far ours is from the independent calculation, each row and both kinds of loss."""
    found = []
    for row in scores.read("stripping_losses"):
        if float(row["loss_if_present"]) >= 1e-4:
            ours = scores.stripping_losses(row)
            theirs = float(row["loss_if_present"]), float(row["loss_if_produced"])
            found += [
                math.exp(abs(math.log(a / b))) for a, b in zip(ours, theirs, strict=True) if b
            ]
    return found


def odour_lines() -> str:
    """Odour activity values, highest first."""
    order = [one.compound for one in scores.profile("malt").rows]
    found = sorted(scores.rows("threshold"), key=lambda row: order.index(row["compound"]))
    parts = []
    for row in found:
        theirs, ours = scores.published_oav(row), scores.ours(row)
        parts.append(
            f"| {order.index(row['compound']) + 1} | {row['compound']} | {theirs:.3g} | {ours:.3g} "
            f"| {factor(ours, theirs, theirs):.2f} | {row['source']} | {row['basis']} |"
        )
    return "\n".join(parts)


def render() -> str:
    """Fill the page."""
    stripped = stripping_factors()
    return PAGE.format(
        ethanol=ethanol_lines(),
        count=len(stripped),
        median=float(np.median(stripped)),
        worst=max(stripped),
        yeast=lines("yeast"),
        cold=lines("cold 6.5 h", "cold 10 h"),
        brew=lines("hot brew"),
        odours=odour_lines(),
        oils=lines("oil"),
    )


def main() -> None:
    """Write the page."""
    TARGET.write_text(render(), encoding="utf-8")
    print(f"wrote {TARGET.name}")


if __name__ == "__main__":
    main()

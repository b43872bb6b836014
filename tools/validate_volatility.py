# SPDX-License-Identifier: MIT
"""Write docs/validation/volatility.md and its plot: K and γ∞ against published numbers.

Run it as ``python tools/validate_volatility.py``; the result is committed.
"""

from __future__ import annotations

import csv
import math
from collections import defaultdict
from pathlib import Path

import matplotlib as mpl

mpl.use("Agg")
import matplotlib.pyplot as plt
import numpy as np

from middlecut.liquid import compounds, volatility

ROOT = Path(__file__).resolve().parent.parent
DATA = ROOT / "tests" / "reference" / "data"
TARGET = ROOT / "docs" / "validation" / "volatility.md"
ATMOSPHERE = 101325.0
HOT = 60.0  # °C; colder rows stand for a compound only where there is no hot one
# Rows of the compilation that are not believed, and why (upper or lower limit of temperature).
NOT_BELIEVED = {
    "75-18-3": "still value at 98.5 °C, ten times below the Henry constant",
    "590-86-3": "still value at 98.5 °C, eight times below the Henry constant",
    "96-17-3": "still value at 98.5 °C, thirteen times below the Henry constant",
    "66-25-1": "still value at 98.5 °C, seven times below the value at 25 °C",
    "100-52-7": "still value at 100 °C, three times below the Henry constant and solubility",
    "122-78-1": "still value at 100 °C, below solubility by a factor 13",
    "111-87-5": "one row at 16 °C, 230 times below solubility",
}
SHOWN = (
    "methanol", "ethyl acetate", "3-methyl-1-butanol", "2-phenylethanol", "furfural",
    "ethyl octanoate", "limonene", "acetic acid",
)  # fmt: skip


def read(name: str) -> list[dict[str, str]]:
    """Rows of a reference table."""
    with (DATA / f"{name}.csv").open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def factor(ours: float, theirs: float) -> float:
    """How many times two numbers differ, at least 1."""
    return math.exp(abs(math.log(ours / theirs)))


def believed(cas: str, temperature: float) -> bool:
    """Whether a measured row counts."""
    return not (cas in NOT_BELIEVED and (temperature >= 98.0 or cas == "111-87-5"))


def against_recommended() -> tuple[list[tuple[str, str, float, float]], float]:
    """(name, grade, median factor, worst factor) of each compound, and the median of all."""
    found, everything = [], []
    for row in read("recommended_k"):
        keys = [key for key in row if key.startswith("K_x")]
        x = np.array([float(key.removeprefix("K_x")) for key in keys])
        ours = volatility.k_value(row["cas"], x, ATMOSPHERE)
        errors = [factor(a, float(row[key])) for a, key in zip(ours, keys, strict=True)]
        everything += errors
        info = volatility.grade(row["cas"])
        found.append((info.compound, info.grade, float(np.median(errors)), max(errors)))
    return sorted(found, key=lambda item: -item[3]), float(np.median(everything))


def against_measured() -> list[tuple[str, str, float, int, float, float, float, float]]:
    """(name, grade, x, rows, measured, ours, factor, own limit) of each compound and solvent."""
    groups: dict[tuple[str, float], list[tuple[float, float]]] = defaultdict(list)
    for row in read("limiting_activity_coefficients"):
        temperature = float(row["temperature_c"])
        if believed(row["cas"], temperature):
            key = (row["cas"], float(row["ethanol_mole_fraction"]))
            groups[key].append((temperature, float(row["gamma"])))
    found = []
    for (cas, x), rows in groups.items():
        used = [item for item in rows if item[0] >= HOT] or rows
        measured = float(np.median([gamma for _, gamma in used]))
        kelvin = np.clip(np.array([item[0] for item in used]) + 273.15, 298.15, 385.0)
        ours = float(np.median(volatility.limiting_activity_coefficient(cas, x, kelvin)))
        info = volatility.grade(cas)
        found.append(
            (
                info.compound, info.grade, x, len(used), measured, ours,
                factor(ours, measured), info.factor**1.96,
            )
        )  # fmt: skip
    return sorted(found, key=lambda item: (item[2], item[0]))


def against_binaries() -> list[tuple[str, str, str, float, float, float]]:
    """(name, model, grade, median factor, worst factor, x of the worst)."""
    groups: dict[tuple[str, str], list[tuple[float, float]]] = defaultdict(list)
    for row in read("binary_model_k"):
        x = float(row["ethanol_mole_fraction"])
        ours = volatility.k_value(row["cas"], x, float(row["pressure_kpa"]) * 1e3)
        groups[(row["cas"], row["model"])].append((factor(ours, float(row["k"])), x))
    found = []
    for (cas, model), errors in groups.items():
        info = volatility.grade(cas)
        median = float(np.median([error for error, _ in errors]))
        found.append((info.compound, model, info.grade, median, *max(errors)))
    return sorted(found)


def plot(path: Path) -> None:
    """Two panels: γ∞ in water against measured, and K over composition."""
    figure, (left, right) = plt.subplots(1, 2, figsize=(9.0, 4.0), dpi=90)
    rows = [row for row in against_measured() if row[2] == 0.0]
    measured = np.array([row[4] for row in rows])
    ours = np.array([row[5] for row in rows])
    spread = np.array([volatility.grade(row[0]).factor for row in rows])
    left.errorbar(
        measured, ours, yerr=[ours - ours / spread, ours * spread - ours],
        fmt="o", ms=3.5, lw=0.8, color="#1f4e5f",
    )  # fmt: skip
    ends = [1.0, 3e4]
    left.plot(ends, ends, color="0.6", lw=0.8)
    left.set(xscale="log", yscale="log", xlabel="measured γ∞ in water", ylabel="ours, ±1 σ")
    x = np.linspace(0.0, 1.0, 401)
    recommended = {row["cas"]: row for row in read("recommended_k")}
    for place, name in enumerate(SHOWN):
        found = compounds.find(name)
        (line,) = right.plot(x, volatility.k_value(name, x, ATMOSPHERE), lw=1.0, label=name)
        row = recommended[found.cas]
        keys = [key for key in row if key.startswith("K_x")]
        right.plot(
            [float(key.removeprefix("K_x")) for key in keys],
            [float(row[key]) for key in keys],
            "osD^vP*X"[place], ms=3, color=line.get_color(),
        )  # fmt: skip
    right.set(yscale="log", xlabel="ethanol mole fraction of the liquid", ylabel="K at 101.325 kPa")
    right.axhline(1.0, color="0.6", lw=0.8)
    right.legend(fontsize=7, ncols=2)
    figure.tight_layout()
    figure.savefig(path, metadata={"Software": None})
    plt.close(figure)


PAGE = """\
# Volatility of dilute compounds

Written by `tools/validate_volatility.py`; do not edit. A *factor* says how many times two numbers
differ: 1.00 is agreement, 2 is twice or half.

{count} compounds have a volatility. Grades:

| grade | compounds | one-sigma factor |
|---|---|---|
{grades}

![γ∞ in water against measured values, and K over composition](volatility.png)

Left: points are compounds, bars our one-sigma factor. Right: lines are ours, points the independent
computation of the last section.

## Against measured limiting activity coefficients

Open compilation of measured values (Brouwer et al. 2021), 887 rows. Of each compound the rows at
{hot:g} °C and hotter are taken, or all rows where none is hot, and their median is compared.
*Limit* is the compound's own stated uncertainty at 95 % (factor to the power 1.96).

- **Median factor {median:.3f}, worst {worst:.2f}; {outside} of {all} outside their own limit.**
- **In water this is no independent test:** for most of these compounds the anchor is the middle of
  the same rows. It shows that the anchors arrive where they should. Row by row, the hot rows of
  one compound lie a median factor {row_median:.2f} from ours, nine in ten within {row_most:.2f}:
  that is the scatter of the measurements.
- In ethanol ({few} compounds) it is independent, but there are few rows: median factor
  {ethanol_median:.2f}, worst {ethanol_worst:.2f}.
- Between water and ethanol no measured limiting activity coefficient was at hand.
- Rows below 60 °C of C1 to C4 alcohols lie 20 to 40 % below our constant value: the method takes
  the hot value, where a still works.
- Acetaldehyde: three of seven rows say 26 to 32 instead of about 4; grade B may be too good.

| compound | grade | x | rows | measured | ours | factor | limit |
|---|---|---|---|---|---|---|---|
{measured}

Rows that are not believed, and so not compared:

{not_believed}

## Against K from published binary parameter sets

NRTL and UNIQUAC sets for the pairs with water and with ethanol, fitted by others mostly to ordinary
equilibrium data. They bear on the middle of the range, where nothing was measured, but are weak for
pairs that split into two liquids (3-methyl-1-butanol, butyl and ethyl acetate with water). Where
the factor is well above the grade's, that grade's factor should not be trusted in the middle of the
range; of 3-methyl-1-butanol these sets give a third of our K there.

| compound | set | grade | median factor | worst | at x |
|---|---|---|---|---|---|
{binaries}

## Against an independent computation by the same method

117 compounds, 12 compositions each, at 101.325 kPa. Same sources, another program and another
bubble-point model: median factor {recommended_median:.3f}. Five compounds differ on purpose:
2-isopropyl-3-methoxypyrazine (its anchor is not believed), vanillin, methyl anthranilate, methyl
salicylate and methional (a group pair is missing in the model used there). Methanol is moved to
its measured anchor here and is not there.

| compound | grade | median factor | worst |
|---|---|---|---|
{recommended}
"""


def row_scatter() -> tuple[float, float]:
    """Median and 90 % point of the factor of single hot rows in water."""
    errors = [
        factor(
            volatility.limiting_activity_coefficient(row["cas"], 0.0, 350.0), float(row["gamma"])
        )
        for row in read("limiting_activity_coefficients")
        if float(row["ethanol_mole_fraction"]) == 0.0
        and float(row["temperature_c"]) >= HOT
        and believed(row["cas"], float(row["temperature_c"]))
    ]
    return float(np.median(errors)), float(np.quantile(errors, 0.9))


def render() -> str:
    """Fill the page."""
    recommended, recommended_median = against_recommended()
    measured = against_measured()
    factors = [row[6] for row in measured]
    in_ethanol = [row[6] for row in measured if row[2] > 0.0]
    row_median, row_most = row_scatter()
    return PAGE.format(
        count=len(compounds.volatile_names()),
        grades="\n".join(grade_lines()),
        hot=HOT,
        median=np.median(factors),
        worst=max(factors),
        outside=sum(row[6] > row[7] for row in measured),
        all=len(measured),
        row_median=row_median,
        row_most=row_most,
        few=len(in_ethanol),
        ethanol_median=np.median(in_ethanol),
        ethanol_worst=max(in_ethanol),
        measured="\n".join(
            f"| {name} | {mark} | {x:g} | {count} | {theirs:.4g} | {ours:.4g} | {error:.2f} "
            f"| {limit:.2f} |"
            for name, mark, x, count, theirs, ours, error, limit in measured
        ),
        not_believed="\n".join(
            f"- {compounds.find(cas).name}: {why}." for cas, why in NOT_BELIEVED.items()
        ),
        binaries="\n".join(
            f"| {name} | {model} | {mark} | {median:.2f} | {worst:.2f} | {x:g} |"
            for name, model, mark, median, worst, x in against_binaries()
        ),
        recommended_median=recommended_median,
        recommended="\n".join(
            f"| {name} | {mark} | {median:.3f} | {worst:.3f} |"
            for name, mark, median, worst in recommended
        ),
    )


def grade_lines() -> list[str]:
    """One table line a grade."""
    groups: dict[str, list[float]] = defaultdict(list)
    for name in compounds.volatile_names():
        info = volatility.grade(name)
        groups[info.grade].append(info.factor)
    order = ("A", "B", "B-", "C+", "C", "C-", "C?", "D")
    return [
        f"| {mark} | {len(groups[mark])} | "
        + (
            f"{min(groups[mark]):g}"
            if min(groups[mark]) == max(groups[mark])
            else f"{min(groups[mark]):g} to {max(groups[mark]):g}"
        )
        + " |"
        for mark in order
    ]


def main() -> None:
    """Write the page and the plot."""
    TARGET.parent.mkdir(parents=True, exist_ok=True)
    TARGET.write_text(render(), encoding="utf-8")
    plot(TARGET.with_suffix(".png"))
    print(f"wrote {TARGET.name} and {TARGET.with_suffix('.png').name}")


if __name__ == "__main__":
    main()

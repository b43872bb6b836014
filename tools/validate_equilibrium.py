# SPDX-License-Identifier: MIT
"""Compare the ethanol-water equilibrium and heat with measurements and other models.

Writes ``docs/validation/equilibrium.md`` and ``docs/validation/equilibrium.png``.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import matplotlib as mpl
import numpy as np
from CoolProp.CoolProp import PQ_INPUTS, AbstractState, PropsSI
from numpy.typing import NDArray
from scipy.optimize import brentq
from thermo.unifac import DOUFIP2006, DOUFSG, UNIFAC

from middlecut.liquid import equilibrium, heat
from middlecut.liquid.redlich_kister import log_activity_coefficients, log_vapour_pressure

mpl.use("Agg")
from matplotlib import pyplot as plt

Array = NDArray[np.float64]
Gammas = Callable[[float, float], tuple[float, float]]

ROOT = Path(__file__).parents[1]
DATA = ROOT / "tests/reference/data"
PAGE = ROOT / "docs/validation/equilibrium.md"
PLOT = ROOT / "docs/validation/equilibrium.png"

SETS = {
    "kamihama2012": "Kamihama et al. 2012",
    "hala1968": "Hála et al. 1968",
    "beebe1942-380": "Beebe et al. 1942",
    "beebe1942-190": "Beebe et al. 1942",
    "beebe1942-95": "Beebe et al. 1942",
    "pemberton1978-30": "Pemberton & Mash 1978",
    "wichterle-50a": "Wichterle compilation, A",
    "wichterle-50b": "Wichterle compilation, B",
    "pemberton1978-90": "Pemberton & Mash 1978",
    "wichterle-90b": "Wichterle compilation, B",
}


def ours(x: float, temperature: float) -> tuple[float, float]:
    """Return ln gamma of both by the shipped model."""
    ethanol, water, _, _ = log_activity_coefficients(np.asarray(x), np.asarray(temperature))
    return float(ethanol), float(water)


def group_contribution(x: float, temperature: float) -> tuple[float, float]:
    """Return ln gamma of both by modified UNIFAC (Dortmund), parameters as in thermo."""
    model = UNIFAC.from_subgroups(
        T=temperature,
        xs=[x, 1.0 - x],
        chemgroups=[{1: 1, 2: 1, 14: 1}, {16: 1}],
        version=1,
        interaction_data=DOUFIP2006,
        subgroups=DOUFSG,
    )
    ethanol, water = model.lngammas()
    return float(ethanol), float(water)


def local_composition(tau12: float, tau21: float, alpha: float, x: float) -> tuple[float, float]:
    """Return ln gamma of both by NRTL; 1 is ethanol."""
    g12, g21, w = np.exp(-alpha * tau12), np.exp(-alpha * tau21), 1.0 - x
    first = tau21 * (g21 / (x + w * g21)) ** 2 + tau12 * g12 / (w + x * g12) ** 2
    second = tau12 * (g12 / (w + x * g12)) ** 2 + tau21 * g21 / (x + w * g21) ** 2
    return float(w * w * first), float(x * x * second)


def nrtl_dechema(x: float, temperature: float) -> tuple[float, float]:
    """Return ln gamma by the set of the DECHEMA collection, as in the table that thermo carries."""
    return local_composition(-29.1667 / temperature, 624.868 / temperature, 0.2937, x)


def nrtl_simulator(x: float, temperature: float) -> tuple[float, float]:
    """Return ln gamma by a data-bank set; rounded values were read, full digits recalled."""
    tau12, tau21 = -0.8009 + 246.18 / temperature, 3.4578 - 586.0809 / temperature
    return local_composition(tau12, tau21, 0.3, x)


MODELS: dict[str, Gammas] = {
    "middlecut": ours,
    "mod. UNIFAC (Dortmund)": group_contribution,
    "NRTL, DECHEMA": nrtl_dechema,
    "NRTL, data bank": nrtl_simulator,
}


def partials(gammas: Gammas, x: float, temperature: float) -> tuple[float, float]:
    """Return both partial pressures with the same vapour pressures for every model."""
    ethanol, water = gammas(x, temperature)
    psat_e, _ = log_vapour_pressure("ethanol", np.asarray(temperature))
    psat_w, _ = log_vapour_pressure("water", np.asarray(temperature))
    return x * float(np.exp(ethanol + psat_e)), (1.0 - x) * float(np.exp(water + psat_w))


def boil(gammas: Gammas, x: float, pressure: float) -> tuple[float, float]:
    """Return bubble temperature and vapour composition by a bracketed root."""
    temperature = brentq(
        lambda t: np.log(sum(partials(gammas, x, t)) / pressure), 290.0, 390.0, xtol=1e-8
    )
    return float(temperature), partials(gammas, x, float(temperature))[0] / pressure


def read_sets() -> dict[str, Array]:
    """Return P [Pa], T [K], x, y of each set as columns."""
    lines = (DATA / "ethanol_water_vle.csv").read_text(encoding="utf-8").splitlines()
    found: dict[str, list[list[float]]] = {}
    for row in csv.DictReader(lines):
        found.setdefault(row["set"], []).append(
            [
                float(row["pressure_kPa"]) * 1e3,
                float(row["temperature_C"]) + 273.15,
                float(row["ethanol_mole_fraction"]),
                float(row["vapour_mole_fraction"] or "nan"),
            ]
        )
    return {name: np.array(rows) for name, rows in found.items()}


def rms(values: Array) -> float:
    """Return the root mean square."""
    return float(np.sqrt(np.mean(values**2)))


def isobaric_table(sets: dict[str, Array]) -> list[str]:
    """Return the rows of the isobaric comparison."""
    lines = [
        "| set | kPa | points | " + " | ".join(MODELS) + " |",
        "|---" * (3 + len(MODELS)) + "|",
    ]
    for name in ("kamihama2012", "hala1968", "beebe1942-380", "beebe1942-190", "beebe1942-95"):
        points = sets[name]
        cells = []
        for gammas in MODELS.values():
            got = np.array([boil(gammas, x, p) for p, _, x, _ in points])
            cells.append(
                f"{rms(got[:, 0] - points[:, 1]):.2f} K, {rms(got[:, 1] - points[:, 3]):.4f}"
            )
        pressure = points[0, 0] / 1e3
        head = f"| {SETS[name]} | {pressure:.1f} | {len(points)} | "
        lines.append(head + " | ".join(cells) + " |")
    return lines


def isothermal_table(sets: dict[str, Array]) -> list[str]:
    """Return the rows of the isothermal comparison."""
    lines = ["| set | °C | points | " + " | ".join(MODELS) + " |", "|---" * (3 + len(MODELS)) + "|"]
    for name in (
        *("pemberton1978-30", "wichterle-50a", "wichterle-50b"),
        *("pemberton1978-90", "wichterle-90b"),
    ):
        points = sets[name]
        cells = []
        for gammas in MODELS.values():
            got = np.array([partials(gammas, x, t) for _, t, x, _ in points])
            total = got.sum(axis=1)
            cell = f"{100.0 * rms(total / points[:, 0] - 1.0):.2f} %"
            if np.isfinite(points[:, 3]).all():
                cell += f", {rms(got[:, 0] / total - points[:, 3]):.4f}"
            cells.append(cell)
        head = f"| {SETS[name]} | {points[0, 1] - 273.15:.0f} | {len(points)} | "
        lines.append(head + " | ".join(cells) + " |")
    return lines


def azeotrope_table() -> list[str]:
    """Return the azeotrope at one atmosphere by each model."""
    lines = ["| | °C | x |", "|---|---|---|", "| accepted | 78.15 | 0.894 to 0.904 |"]
    for name, gammas in MODELS.items():
        x = brentq(lambda z, g=gammas: boil(g, z, 101325.0)[1] - z, 0.7, 0.99, xtol=1e-9)
        temperature = boil(gammas, float(x), 101325.0)[0] - 273.15
        lines.append(f"| {name} | {temperature:.2f} | {x:.4f} |")
    return lines


def condensation_table() -> list[str]:
    """Compare total condensation at one atmosphere with a mixture equation of state."""
    lines = [
        "| y | middlecut, kJ/mol | multi-fluid equation of state (CoolProp), kJ/mol | difference |",
        "|---|---|---|---|",
    ]
    mixture = AbstractState("HEOS", "Ethanol&Water")
    for y in (0.05, 0.1, 0.2, 0.4, 0.6, 0.8, 0.9):
        mixture.set_mole_fractions([y, 1.0 - y])
        mixture.update(PQ_INPUTS, 101325.0, 1.0)
        theirs = mixture.hmolar()
        mixture.update(PQ_INPUTS, 101325.0, 0.0)
        theirs -= mixture.hmolar()
        mine = heat.latent_heat(y, 101325.0)
        lines.append(
            f"| {y:g} | {mine / 1e3:.2f} | {theirs / 1e3:.2f} "
            f"| {100 * (mine / theirs - 1):+.2f} % |"
        )
    return lines


def pure_table() -> list[str]:
    """Compare the pure substances with the equations of state and handbook values."""
    lines = ["| quantity | middlecut | other | source | difference |", "|---|---|---|---|---|"]

    def row(label: str, mine: float, other: float, source: str) -> None:
        lines.append(
            f"| {label} | {mine:.5g} | {other:.5g} | {source} | {100 * (mine / other - 1):+.2f} % |"
        )

    crc = "CRC Handbook, as chemicals carries it"
    row("latent heat, ethanol 25 °C, J/mol", heat.latent_heat_ethanol(298.15), 42320.0, crc)
    row("latent heat, ethanol 78.29 °C, J/mol", heat.latent_heat_ethanol(351.44), 38560.0, crc)
    row("latent heat, water 25 °C, J/mol", heat.latent_heat_water(298.15), 43980.0, crc)
    row("latent heat, water 99.97 °C, J/mol", heat.latent_heat_water(373.12), 40650.0, crc)
    for temperature in (298.15, 323.15, 351.15):
        row(
            f"heat capacity, ethanol {temperature - 273.15:.0f} °C, J/mol/K",
            heat.liquid_heat_capacity(1.0, temperature),
            PropsSI("Cpmolar", "T", temperature, "Q", 0, "Ethanol"),
            "Schroeder et al. 2014 in CoolProp",
        )
    return lines


def capacity_table() -> list[str]:
    """Compare the heat capacity of mixtures with the handbook table."""
    lines = [
        "| mol % ethanol | °C | middlecut, kJ/kg/K | handbook (memory), kJ/kg/K | difference |",
        "|---|---|---|---|---|",
    ]
    text = (DATA / "aqueous_ethanol_heat_capacity.csv").read_text(encoding="utf-8")
    for row in csv.DictReader(text.splitlines()):
        x = float(row["ethanol_mole_percent"]) / 100.0
        mass = x * 46.06844 + (1.0 - x) * 18.01528
        celsius = float(row["temperature_C"])
        mine = heat.liquid_heat_capacity(x, celsius + 273.15) / mass
        theirs = float(row["specific_heat_cal_per_g_K"]) * 4.1868
        lines.append(
            f"| {100 * x:g} | {celsius:g} | {mine:.3f} | {theirs:.3f} "
            f"| {100 * (mine / theirs - 1):+.1f} % |"
        )
    return lines


def heat_up_table() -> list[str]:
    """Say what the heat of mixing does to the heat from 20 °C to boiling."""
    lines = [
        "| % vol | middlecut, kJ/kg | without heat of mixing | difference it makes |",
        "|---|---|---|---|",
    ]
    for strength in (0.05, 0.08, 0.2, 0.3, 0.45):
        x = float(equilibrium.alcoholometry.mole_fraction_from_strength(strength))
        hot = equilibrium.boiling_temperature(strength, 101325.0)
        mass = (x * 46.06844 + (1.0 - x) * 18.01528) / 1e3
        full = heat.liquid_enthalpy(x, hot) - heat.liquid_enthalpy(x, 293.15)
        part = full - heat.excess_enthalpy(x, hot) + heat.excess_enthalpy(x, 293.15)
        lines.append(
            f"| {100 * strength:g} | {full / mass / 1e3:.1f} | {part / mass / 1e3:.1f} "
            f"| {100 * (full / part - 1):+.1f} % |"
        )
    return lines


def draw(sets: dict[str, Array]) -> None:
    """Draw the boiling diagram with the measured points, and what is left over."""
    ink, accent, grey = "#222222", "#9a3412", "#8a8a8a"
    figure, axes = plt.subplots(1, 3, figsize=(11.0, 3.6), layout="constrained")
    x = np.linspace(0.0, 1.0, 401)
    temperature, y = equilibrium.bubble_point(x, 101325.0)
    axes[0].plot(x, temperature - 273.15, color=ink, lw=1.2, label="liquid, model")
    axes[0].plot(y, temperature - 273.15, color=ink, lw=1.2, ls="--", label="vapour, model")
    for name, mark, color in (("hala1968", "x", grey), ("kamihama2012", "o", accent)):
        p, t, xs, ys = sets[name].T
        kwargs = {"marker": mark, "s": 14.0, "color": color, "linewidths": 0.9}
        if mark == "o":
            kwargs["facecolors"] = "none"
        axes[0].scatter(xs, t - 273.15, label=SETS[name], **kwargs)
        axes[0].scatter(ys, t - 273.15, **kwargs)
        predicted, vapour = equilibrium.bubble_point(xs, p)
        axes[1].scatter(xs, predicted - t, label=SETS[name], **kwargs)
        axes[2].scatter(xs, vapour - ys, label=SETS[name], **kwargs)
    for axis, goal in ((axes[1], 0.2), (axes[2], 0.008)):
        axis.axhspan(-goal, goal, color="#eeeeee", zorder=0, label="goal (rms)")
        axis.axhline(0.0, color=ink, lw=0.6)
    labels = (
        ("boiling at 101.3 kPa", "temperature, °C"),
        ("model - measured, T", "K"),
        ("model - measured, y", "mole fraction"),
    )
    for axis, (title, label) in zip(axes, labels, strict=True):
        axis.set_title(title, fontsize=10)
        axis.set_xlabel("ethanol mole fraction" + (", x and y" if axis is axes[0] else " x"))
        axis.set_ylabel(label)
        axis.legend(fontsize=7, frameon=False)
    figure.savefig(PLOT, dpi=100, metadata={"Software": None})


def main() -> None:
    """Write page and plot."""
    sets = read_sets()
    draw(sets)
    parts = [
        "# Ethanol and water: equilibrium and heat",
        "Written by `tools/validate_equilibrium.py`; do not edit.",
        (
            "![Boiling diagram at one atmosphere with measured points, and the differences "
            "between model and measurement](equilibrium.png)"
        ),
        (
            "Every model is given the same vapour pressures and an ideal vapour, so that only "
            "the activity coefficients differ. The shipped model was regressed on such sets, "
            "these among them, so this shows how well one set of six coefficients reconciles "
            "them, not how it fares on unseen data."
        ),
        "## Isobaric sets: rms difference of temperature and of vapour composition",
        *["\n".join(isobaric_table(sets))],
        (
            "Goal: 0.2 K and 0.008 at 101.3 kPa against the best modern set. The measured "
            "temperatures of Beebe et al. lie 1 to 4 K above every model, those of Hála et "
            "al. about 0.3 K; of the former sets only the vapour is of use, and they lie "
            "below the pressures that middlecut offers (60 to 110 kPa)."
        ),
        "## Isothermal sets: rms difference of pressure, and of vapour where it was measured",
        *["\n".join(isothermal_table(sets))],
        "Left out: the set at 150 °C, beyond the vapour-pressure fits.",
        "## Azeotrope at 101.325 kPa",
        *["\n".join(azeotrope_table())],
        (
            "The shipped model is 0.002 below the accepted band in x and 0.04 K above the "
            "accepted temperature. In strength that is less than 0.1 % vol."
        ),
        "## Pure substances",
        *["\n".join(pure_table())],
        (
            "The heat capacity of ethanol follows a critical evaluation of measurements, "
            "which lies above the equation of state when warm."
        ),
        "## Total condensation at 101.325 kPa",
        *["\n".join(condensation_table())],
        "## Heat capacity of mixtures",
        *["\n".join(capacity_table())],
        "The handbook column was recalled, not opened. None of it was used in the fit.",
        "## What the heat of mixing does to heating up from 20 °C to boiling",
        *["\n".join(heat_up_table())],
        (
            "Mixing ethanol into cold water gives off heat which has to be put back on the "
            "way to boiling. The excess enthalpy carries an estimated standard uncertainty of "
            "100 J/mol at boiling, about 2 % of these figures at most. Basis: calorimetric "
            "curve at 25 °C from memory, heat capacities up to 40 °C from tables, tied to the "
            "activity coefficients by Gibbs and Helmholtz; modified UNIFAC alone gives only "
            "60 % of the heat of mixing at 25 °C and was used for the ethanol-rich heat "
            "capacities only."
        ),
    ]
    PAGE.write_text("\n\n".join(parts) + "\n", encoding="utf-8")
    print(PAGE.name, PLOT.name, PLOT.stat().st_size)


if __name__ == "__main__":
    main()

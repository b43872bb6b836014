# SPDX-License-Identifier: MIT
"""The measured small run of tests/reference/data/batch_cases.json as a logged run.

Three descriptions of the same still, all from what its authors wrote down before any strength was
predicted: reflux by the duty of its reflux condenser, taken as one more equilibrium stage; the same
duty on a coil as cold as theirs, which separates little (:func:`coil_efficiency`); or their
estimate of the reflux ratio, taken as a divider that separates nothing. Four plates count as two
stages: half of a plate is a common allowance for small plates (common practice).
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from middlecut.insight.calibrate import expected, fit_still
from middlecut.insight.calibrated import CalibratedStill
from middlecut.insight.readings import Reading
from middlecut.insight.still_model import LoggedRun
from middlecut.liquid import alcoholometry
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Cut, Distil, Take, Until
from middlecut.steps.still import Still

PLATE_EFFICIENCY = 0.5
STRENGTH_SPREAD = 0.008
"""A hydrometer read to 1 % vol at a temperature that was not written down (estimate)."""
VOLUME_SPREAD, VOLUME_SHARE = 5e-6, 0.03
"""A cylinder read to 5 mL, and the authors' own doubts about lost liquid (estimate)."""

CASE: dict[str, Any] = next(
    one
    for one in json.loads(
        (Path(__file__).parents[1] / "reference" / "data" / "batch_cases.json").read_text(
            encoding="utf-8"
        )
    )["cases"]
    if one["id"] == "kathmandu_run2"
)
COOLING = (300.0, 500.0, 800.0)
"""Heat through a small water-cooled coil on which vapour condenses, low, typical and high; estimate
after the tables of the handbooks (memory). [W m⁻² K⁻¹]"""
GAP = (5e-3, 10e-3, 20e-3)
"""Width the vapour has beside the coil, low, typical and high; estimate. [m]"""
START = 60.0 * CASE["inputs"]["time_to_boil_min"]


def still(*, by: str = "duty") -> Still:
    given = CASE["inputs"]
    described = Still(
        "small column",
        boiler_volume=5e-3,
        heater_power=given["estimated_heater_W_from_heat_up"],
        heater_efficiency=1.0,
        stages=4.0 * PLATE_EFFICIENCY,
        stage_holdup=30e-6,
        head_holdup=10e-6,
        coolant_duty=given["estimated_reflux_duty_W"],
    )
    if by == "coil":
        return replace(described, head_efficiency=coil_efficiency()[1])
    if by == "ratio":
        return replace(described, coolant_duty=0.0, reflux_ratio=given["estimated_reflux_ratio"])
    return described


def coil_efficiency() -> tuple[float, float, float]:
    """Return low, typical and high share of the vapour that a coil this cold brings to equilibrium.

    Vapour that condenses fast carries what it holds to the wall whether it would condense there or
    not: across a film the distance of the condensate from the passing vapour falls with
    exp(-flux/transfer) (Colburn and Drew 1937, memory). The flux is U ΔT / latent heat, with the
    temperatures of the cooling water that the authors measured; the transfer is that of a laminar
    passage (Sherwood number 3.66). The area of the coil drops out.
    """
    given = CASE["inputs"]
    vapour = 79.0  # °C, of 86 % vol at 87 kPa, less than a degree off
    warm, cold = (vapour - given[f"reflux_water_T_{end}_C"] for end in ("in", "out"))
    driving = (warm - cold) / math.log(warm / cold)
    latent = 41e3  # J/mol, of ethanol and of water within 2 % here
    # 1.2e-5 m²/s at 298 K and 101 kPa (memory), with T^1.75 and 1/p.
    diffusivity = (
        1.2e-5 * (352.0 / 298.0) ** 1.75 * 101.3 / given["pressure_kPa_barometric_formula"]
    )
    density = 1e3 * given["pressure_kPa_barometric_formula"] / (8.314 * 352.0)  # mol/m³
    found = []
    for through, gap in zip(COOLING[::-1], GAP[::-1], strict=True):
        transfer = 3.66 * diffusivity / gap * density  # mol/m²/s
        found.append(math.exp(-through * driving / latent / transfer))
    low, typical, high = found
    return low, typical, high


def run(*, first_third: bool = False) -> LoggedRun:
    given, measured = CASE["inputs"], CASE["outputs"]
    rows: list[Reading] = []
    for row in measured["instantaneous"]:
        start, end = (60.0 * row[key] - START for key in ("t_start_min", "t_end_min"))
        rows.append(_strength(end, "jar_strength", row["ABV"], since=max(start, 0.0)))
        rows.append(_volume(end, "jar_volume", row["mL"], since=max(start, 0.0)))
    for row in measured["cumulative"]:
        end = 60.0 * row["t_min"] - START
        rows.append(_strength(end, "collected_strength", row["ABV"]))
        rows.append(_volume(end, "collected_volume", row["mL"]))
    last = 60.0 * given["run_end_min"] - START
    share = float(alcoholometry.mass_fraction_from_strength(0.01 * given["charge_ABV"]))
    mass = 1e-3 * given["charge_L"] * float(alcoholometry.density_20(share))
    step = Distil(
        id="run 2",
        takes=(Take("charge"),),
        still="small column",
        purpose="spirit",
        cuts=(Cut("distillate", Until(time=last + 60.0)),),
        residue="rest",
    )
    charge = Lot(
        "charge",
        water=mass * (1.0 - share),
        ethanol=mass * share,
        temperature=273.15 + given["charge_T_C"],
    )
    if first_third:
        rows = [row for row in rows if row.time <= last / 3.0]
    pressure = 1e3 * given["pressure_kPa_barometric_formula"]
    return LoggedRun("run 2", step, charge, pressure, tuple(rows))


def _strength(time: float, name: str, percent: float, since: float | None = None) -> Reading:
    # The authors' strengths are taken as they stand, as if corrected: no temperature is known.
    return Reading(
        time, name, 0.01 * percent, STRENGTH_SPREAD, instrument="laboratory", since=since
    )


def _volume(time: float, name: str, millilitres: float, since: float | None = None) -> Reading:
    value = 1e-6 * millilitres
    spread = float(np.hypot(VOLUME_SPREAD, VOLUME_SHARE * value))
    return Reading(time, name, value, spread, since=since)


@dataclass(frozen=True)
class Comparison:
    """Predicted strengths less the measured ones, in % vol, and where each stands."""

    names: tuple[str, ...]
    times: NDArray[np.float64]
    predicted: NDArray[np.float64]
    gaps: NDArray[np.float64]
    unseen: NDArray[np.bool_]

    def rms(self, *, unseen: bool = False) -> float:
        chosen = self.gaps[self.unseen] if unseen else self.gaps
        return float(np.sqrt(np.mean(chosen**2)))


def compare(values: dict[str, float], of: Still) -> Comparison:
    whole, third = run(), run(first_third=True)
    predicted = expected(of, [whole], values)
    index = [i for i, row in enumerate(whole.readings) if row.quantity.endswith("_strength")]
    rows = [whole.readings[i] for i in index]
    measured = np.array([row.value for row in rows])
    return Comparison(
        names=tuple(row.quantity for row in rows),
        times=np.array([row.time for row in rows]),
        predicted=100.0 * predicted[index],
        gaps=100.0 * (predicted[index] - measured),
        unseen=np.array([row not in third.readings for row in rows]),
    )


def fitted(*, by: str = "duty") -> tuple[CalibratedStill, Comparison]:
    """Fit on the first third of the run alone and compare with all of it."""
    found = fit_still(still(by=by), [run(first_third=True)])
    values = {one.name: one.value for one in found.parameters}
    return found, compare(values, found.still)

# SPDX-License-Identifier: MIT
"""What is predicted of a plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from middlecut.plan.model import Plan
from middlecut.steps.lot import Lot
from middlecut.steps.result import Account, Caution, StepResult

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Prediction", "Totals"]


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums over a whole plan.

    Parameters
    ----------
    duration : float
        Of all steps one after another. [s]
    still_time : float
        Of the distil steps alone: time somebody stands beside a still. [s]
    energy : float
        Electrical. [J]
    cooling_water : float
        [kg]
    cost : float or None
        Energy and cooling water, in the plan's currency; None when no price is given.
    currency : str
        As the plan writes it.
    """

    duration: float
    still_time: float
    energy: float
    cooling_water: float
    cost: float | None = None
    currency: str = ""


@dataclass(frozen=True, slots=True)
class Prediction:
    """A predicted batch.

    Parameters
    ----------
    plan : Plan
        What it was predicted from.
    lots : mapping of str to Lot
        Every lot as it was made or given, by name.
    left : mapping of str to Lot
        What remains of each lot at the end; lots used up are left out.
    steps : mapping of str to StepResult
        By id, in order.
    account : Account
        Over the whole plan: from wort, water, yeast and given lots to what remains and the losses.
    cautions : tuple of Caution
        Those of every step, then those that hold for every plan.
    totals : Totals
        Time, energy, water, cost.
    citations : tuple of str
        Keys of CITATIONS.bib for the models used.
    provenance : mapping of str to str
        Code version and the name of each model used.
    """

    plan: Plan
    lots: Mapping[str, Lot]
    left: Mapping[str, Lot]
    steps: Mapping[str, StepResult]
    account: Account
    cautions: tuple[Caution, ...]
    totals: Totals
    citations: tuple[str, ...]
    provenance: Mapping[str, str]

    def to_dict(self) -> dict[str, Any]:
        """Return everything but the dense curves in SI units as plain JSON types."""
        return {
            "batch": asdict(self.plan.batch),
            "lots": {name: lot.to_dict() for name, lot in self.lots.items()},
            "left": {name: lot.to_dict() for name, lot in self.left.items()},
            "steps": {name: _step(result) for name, result in self.steps.items()},
            "account": self.account.to_dict(),
            "cautions": [asdict(caution) for caution in self.cautions],
            "totals": asdict(self.totals),
            "citations": list(self.citations),
            "provenance": dict(self.provenance),
        }

    def to_frame(self) -> pd.DataFrame:
        """Return the lots as a table: a row per lot, a column per quantity and compound [mg/L]."""
        import pandas as pd  # noqa: PLC0415 - half a second that the command line need not pay

        rows = [
            {
                "lot": name,
                "volume_m3": lot.volume,
                "strength": lot.strength,
                "pure_alcohol_m3": lot.pure_alcohol,
                "water_kg": lot.water,
                "ethanol_kg": lot.ethanol,
                "solids_kg": lot.solids,
                "temperature_K": lot.temperature,
                **{f"{compound} [mg/L]": level for compound, level in lot.compounds.items()},
            }
            for name, lot in self.lots.items()
        ]
        return pd.DataFrame(rows).set_index("lot")


def _step(result: StepResult) -> dict[str, Any]:
    return {
        "kind": result.kind,
        "made": list(result.made),
        "used": {name: lot.volume for name, lot in result.used.items()},
        "figures": [asdict(figure) for figure in result.figures],
        "cautions": [asdict(caution) for caution in result.cautions],
        "account": result.account.to_dict(),
        "duration": result.duration,
        "energy": result.energy,
        "cooling_water": result.cooling_water,
        "citations": list(result.citations),
        "run": None if result.curve is None else _run(result),
    }


def _run(result: StepResult) -> dict[str, Any]:
    curve = result.curve
    if curve is None:
        return {}
    return {
        "cuts": [asdict(cut) for cut in curve.cuts],
        "jars": [asdict(jar) for jar in curve.jars],
        "facts": asdict(curve.facts),
    }

# SPDX-License-Identifier: MIT
"""What is predicted of a plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from middlecut.errors import NotFoundError
from middlecut.plan.model import Plan
from middlecut.steps.band import Band, CurveBand
from middlecut.steps.lot import Lot
from middlecut.steps.result import Account, Caution, StepResult

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

__all__ = ["Ensemble", "Failure", "Influence", "Prediction", "Shortfall", "Totals"]


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
    bands : mapping of str to Band
        By the names above, in a prediction with draws.
    """

    duration: float
    still_time: float
    energy: float
    cooling_water: float
    cost: float | None = None
    currency: str = ""
    bands: Mapping[str, Band] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Influence:
    """How closely a predicted number follows an uncertain input, over all draws.

    Parameters
    ----------
    output : str
        Key of the number, such as ``lot.hearts.volume``.
    input : str
        Key of the input, such as ``still.column.head_loss``.
    output_label, input_label : str
        The same in words.
    correlation : float
        Spearman's rank correlation, −1 to 1.
    advice : str
        What to measure to know the input better; "" when nothing can be done about it.
    """

    output: str
    input: str
    output_label: str
    input_label: str
    correlation: float
    advice: str


@dataclass(frozen=True, slots=True)
class Failure:
    """Draws that could not be carried to the end, and why.

    Parameters
    ----------
    key : str
        Place in the plan.
    count : int
        How many draws.
    example : str
        What the first of them said.
    """

    key: str
    count: int
    example: str


@dataclass(frozen=True, slots=True)
class Shortfall:
    """A lot that held less than a step asks for; the draw went on with what was there.

    Parameters
    ----------
    lot : str
        Name of the lot.
    count : int
        In how many draws.
    missing : float
        Median share missing in those, 0 to 1.
    """

    lot: str
    count: int
    missing: float


@dataclass(frozen=True, slots=True, eq=False)
class Ensemble:
    """What stands behind the bands of a prediction.

    Parameters
    ----------
    draws, used : int
        Asked for, and carried to the end.
    seed : int
        Of the random numbers.
    failures : tuple of Failure
        Most frequent first.
    shortfalls : tuple of Shortfall
        Most frequent first.
    influences : tuple of Influence
        What moves the chosen numbers most, strongest first per number.
    names : tuple of str
        Keys of the columns of ``values``.
    values : ndarray, shape (draws, numbers)
        Every number of every draw in SI (compounds in mg/L); NaN where a draw has no such number.
    """

    draws: int
    used: int
    seed: int
    failures: tuple[Failure, ...]
    shortfalls: tuple[Shortfall, ...]
    influences: tuple[Influence, ...]
    names: tuple[str, ...]
    values: NDArray[np.float64]

    def sample(self, name: str) -> NDArray[np.float64]:
        """Return one number in every draw, NaN where it is missing, by its key.

        Parameters
        ----------
        name : str
            One of ``names``.

        Returns
        -------
        ndarray, shape (draws,)

        Raises
        ------
        NotFoundError
            If no number has that key.
        """
        if name not in self.names:
            raise NotFoundError("number", name, tuple(get_close_matches(name, self.names)))
        return self.values[:, self.names.index(name)]

    def to_dict(self) -> dict[str, Any]:
        """Return everything but the single draws as plain JSON types."""
        return {
            "draws": self.draws,
            "used": self.used,
            "seed": self.seed,
            "failures": [asdict(row) for row in self.failures],
            "shortfalls": [asdict(row) for row in self.shortfalls],
            "influences": [asdict(row) for row in self.influences],
        }


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
    ensemble : Ensemble or None
        What stands behind the bands; None without draws.
    rests_on : tuple of str
        What it rests on beside the plan, a sentence each: a fitted still, narrowed factors.
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
    ensemble: Ensemble | None = None
    rests_on: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Return everything but the dense curves in SI units as plain JSON types."""
        found = {
            "batch": asdict(self.plan.batch),
            "lots": {name: lot.to_dict() for name, lot in self.lots.items()},
            "left": {name: lot.to_dict() for name, lot in self.left.items()},
            "steps": {name: _step(result) for name, result in self.steps.items()},
            "account": self.account.to_dict(),
            "cautions": [asdict(caution) for caution in self.cautions],
            "totals": _totals(self.totals),
            "citations": list(self.citations),
            "provenance": dict(self.provenance),
        }
        if self.rests_on:
            found["rests_on"] = list(self.rests_on)
        return found if self.ensemble is None else {**found, "ensemble": self.ensemble.to_dict()}

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


def _totals(totals: Totals) -> dict[str, Any]:
    found = asdict(totals)
    return found if totals.bands else {k: v for k, v in found.items() if k != "bands"}


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
    found = {
        "cuts": [_without_empty_band(asdict(cut)) for cut in curve.cuts],
        "jars": [_without_empty_band(asdict(jar)) for jar in curve.jars],
        "facts": asdict(curve.facts),
    }
    return found if curve.band is None else {**found, "band": _curve_band(curve.band)}


def _without_empty_band(found: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in found.items() if key != "band" or value is not None}


def _curve_band(band: CurveBand) -> dict[str, Any]:
    """Return the bands along a run but those of the compounds, which fill pages."""
    names = ("time", "strength", "head_temperature", "boiler_temperature", "boiler_strength")
    return {
        "volume": band.volume.tolist(),
        "share": band.share.tolist(),
        **{
            name: dict(zip(("low", "median", "high"), _rows(getattr(band, name)), strict=True))
            for name in names
        },
    }


def _rows(values: NDArray[np.float64]) -> list[list[float | None]]:
    return [[None if cell != cell else cell for cell in row] for row in values.tolist()]  # noqa: PLR0124 - NaN

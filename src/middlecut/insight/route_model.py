# SPDX-License-Identifier: MIT
"""What the routes of an ingredient are made of: a row per compound, a route per entry point."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from middlecut.errors import NotFoundError
from middlecut.insight.entry_points import Closed
from middlecut.insight.leaving import Leaving
from middlecut.insight.odour import OdourRow
from middlecut.steps.result import Caution

if TYPE_CHECKING:
    import pandas as pd

    from middlecut.plan.model import Plan

__all__ = ["NOTES", "Route", "RouteCost", "RouteRow", "Routes"]

NOTES = (
    (
        "Shares are of all the ingredient holds of a compound, or of all that yeast makes of it, "
        "unless a sentence says of what. Heads here are foreshots and heads together; left over is "
        "what lots hold that no later step uses up."
    ),
    (
        "Shares and levels are the ingredient's own contribution; what yeast, wood and other "
        "ingredients bring of the same compound comes on top. That an ingredient changes what its "
        "neighbours give, by thickening the bed in the basket, is not counted."
    ),
    (
        "The band joins the range of the content, that of extraction, and the uncertainty of "
        "volatility; the plan itself is taken as it stands."
    ),
    (
        "Levels rise in step with the amount until a liquid is saturated; clouding is not part of "
        "this. Reactions in the boiler are left out."
    ),
)


def _near(name: str, known: list[str]) -> tuple[str, ...]:
    return tuple(get_close_matches(name, known) or known[:3])


@dataclass(frozen=True, slots=True)
class RouteRow:
    """What becomes of one marker compound on one route.

    Parameters
    ----------
    compound : str
        Its name.
    content : float
        What the ingredient holds of it. [kg] Of what yeast makes of another marker: all that
        arises.
    made : bool
        Whether yeast makes it of another marker.
    concentration, concentration_low, concentration_high : float
        Own contribution in the final lot. [mg L⁻¹]
    basis : str
        The weakest along the way.
    share : float
        Of the content in the final lot, 0 to 1.
    shares : mapping of str to float
        Where all of the content is at the end, by place, as shares that add up to 1.
    odour : OdourRow or None
        Odour activity value of the own contribution; None without a threshold.
    runs : tuple of Leaving
        When it leaves each run on its way, in order; empty when no run is on the way.
    """

    compound: str
    content: float
    made: bool
    concentration: float
    concentration_low: float
    concentration_high: float
    basis: str
    share: float
    shares: Mapping[str, float]
    odour: OdourRow | None = None
    runs: tuple[Leaving, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Return the row as plain JSON types."""
        odour = None if self.odour is None else asdict(self.odour)
        if odour is not None:
            odour["descriptors"] = list(odour["descriptors"])
        return {
            "compound": self.compound,
            "content_kg": self.content,
            "made_by_yeast": self.made,
            "mg_per_L": self.concentration,
            "mg_per_L_low": self.concentration_low,
            "mg_per_L_high": self.concentration_high,
            "basis": self.basis,
            "share": self.share,
            "shares": dict(self.shares),
            "odour": odour,
            "runs": [run.to_dict() for run in self.runs],
        }


@dataclass(frozen=True, slots=True)
class RouteCost:
    """What a route takes beside the plan without the ingredient.

    Parameters
    ----------
    alcohol_kept : float
        Pure alcohol that goes out with its spent solids. [m³ at 20 °C]
    volume_without, volume_with : float
        Of the final lot. [m³ at 20 °C]
    set_apart : float
        Spirit set apart to make a flavour spirit of. [m³ at 20 °C]
    """

    alcohol_kept: float
    volume_without: float
    volume_with: float
    set_apart: float = 0.0


@dataclass(frozen=True, slots=True)
class Route:
    """The predicted way of an ingredient from one entry point to the final lot.

    Parameters
    ----------
    entry_point : str
        Where the ingredient meets the liquid.
    step : str
        Id of the step it goes into.
    how : str
        What is done, in words.
    edit : str
        What to write into the plan file.
    rows : tuple of RouteRow
        In the order of the ingredient's markers.
    added_time : float
        What it adds to the time of all steps. [s]
    cautions : tuple of Caution
        Those that the plan without it does not have, or has with a better number.
    cost : RouteCost
        What it takes of the spirit.
    volume, strength : float
        Of the final lot. [m³ at 20 °C], 0 to 1.
    sentence : str
        The result in plain words.
    plan : Plan
        The edited plan.
    """

    entry_point: str
    step: str
    how: str
    edit: str
    rows: tuple[RouteRow, ...]
    added_time: float
    cautions: tuple[Caution, ...]
    cost: RouteCost
    volume: float
    strength: float
    sentence: str
    plan: Plan = field(repr=False)

    def row(self, compound: str) -> RouteRow:
        """Return the row of a compound, or raise NotFoundError."""
        for row in self.rows:
            if row.compound == compound:
                return row
        raise NotFoundError(
            "marker", compound, _near(compound, [row.compound for row in self.rows])
        )

    def to_dict(self) -> dict[str, Any]:
        """Return all but the plan in SI units as plain JSON types."""
        return {
            "entry_point": self.entry_point,
            "step": self.step,
            "how": self.how,
            "edit": self.edit,
            "rows": [row.to_dict() for row in self.rows],
            "added_time_s": self.added_time,
            "cautions": [asdict(caution) for caution in self.cautions],
            "cost_m3": asdict(self.cost),
            "volume_m3": self.volume,
            "strength": self.strength,
            "sentence": self.sentence,
        }


@dataclass(frozen=True, slots=True)
class Routes:
    """An ingredient through every entry point of a plan.

    Parameters
    ----------
    ingredient : str
        Its name.
    amount : float
        [kg]
    amount_basis : str
        Who chose the amount: "given", "plan" or "usual".
    lot : str
        The final lot.
    routes : tuple of Route
        One an open entry point.
    closed : tuple of Closed
        Entry points the plan cannot serve, with the reason.
    conclusions : tuple of str
        What the comparison says, in plain words.
    notes : tuple of str
        What to keep in mind.
    """

    ingredient: str
    amount: float
    amount_basis: str
    lot: str
    routes: tuple[Route, ...]
    closed: tuple[Closed, ...]
    conclusions: tuple[str, ...]
    notes: tuple[str, ...] = NOTES

    def route(self, entry_point: str) -> Route:
        """Return the route of an entry point, or raise NotFoundError."""
        for route in self.routes:
            if route.entry_point == entry_point:
                return route
        known = [route.entry_point for route in self.routes]
        raise NotFoundError("open entry point", entry_point, _near(entry_point, known))

    def to_dict(self) -> dict[str, Any]:
        """Return everything but the edited plans in SI units as plain JSON types."""
        return {
            "ingredient": self.ingredient,
            "amount_kg": self.amount,
            "amount_basis": self.amount_basis,
            "lot": self.lot,
            "routes": [route.to_dict() for route in self.routes],
            "closed": [asdict(closed) for closed in self.closed],
            "conclusions": list(self.conclusions),
            "notes": list(self.notes),
        }

    def to_frame(self) -> pd.DataFrame:
        """Return a table, one entry point and compound a line."""
        import pandas as pd  # noqa: PLC0415 - costly to import and not always wanted

        lines = [
            {
                "entry_point": route.entry_point,
                "compound": row.compound,
                "mg_per_L": row.concentration,
                "mg_per_L_low": row.concentration_low,
                "mg_per_L_high": row.concentration_high,
                "share": row.share,
                "oav": None if row.odour is None else row.odour.oav,
                "oav_low": None if row.odour is None else row.odour.oav_low,
                "oav_high": None if row.odour is None else row.odour.oav_high,
                **{f"share in {place}": share for place, share in row.shares.items()},
            }
            for route in self.routes
            for row in route.rows
        ]
        return pd.DataFrame(lines)

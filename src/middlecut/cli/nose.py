# SPDX-License-Identifier: MIT
"""``middlecut nose``: what a person is likely to smell in a lot of a plan."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated, Any

import typer

from middlecut.cli.options import Json, PlanFile

if TYPE_CHECKING:
    from collections.abc import Sequence

    from middlecut.insight.clouding import Louche
    from middlecut.insight.odour import OdourProfile, OdourRow
    from middlecut.plan.prediction import Prediction
    from middlecut.steps.lot import Lot

__all__ = ["nose"]

_FIRST = 15
_IN = (
    '"In" is what the threshold was taken in; with * it was read from a page, the others are from '
    'memory or estimates. "How strong" is what it may seem, gentle below 10 times the '
    "threshold and strong from 100."
)
_HEADS = {
    "noticed": "Likely noticed",
    "perhaps noticed": "Perhaps noticed",
    "not noticed": "Hardly noticed",
}


def nose(
    plan: PlanFile,
    *,
    lot: Annotated[
        str | None,
        typer.Option(
            "--lot",
            metavar="NAME",
            help="The lot to smell; without it, what the plan bottles or makes last.",
            show_default=False,
        ),
    ] = None,
    every: Annotated[
        bool, typer.Option("--all", help=f"Show every compound, not the first {_FIRST}.")
    ] = False,
    json: Json = False,
) -> None:
    """Say what a lot is likely to smell of, and whether it clouds."""
    from middlecut.cli.library import own_ingredients  # noqa: PLC0415 - fast --help
    from middlecut.cli.output import columns, say, say_json, working  # noqa: PLC0415 - fast --help

    with working(f"Predicting {plan.name} ..."):
        from middlecut.insight.clouding import louche  # noqa: PLC0415 - numerics
        from middlecut.insight.odour import odour_profile  # noqa: PLC0415 - the same
        from middlecut.plan.predict import predict  # noqa: PLC0415 - the same
        from middlecut.plan.read import load_plan  # noqa: PLC0415 - the same

        chosen = _chosen(predict(load_plan(plan, own_ingredients())), lot)
        profile, clouding = odour_profile(chosen), louche(chosen)
    if json:
        say_json(_as_json(profile, clouding))
    else:
        say(_text(profile, clouding, None if every else _FIRST, columns()))


def _chosen(prediction: Prediction, name: str | None) -> Lot:
    """Return the lot of that name, or what the plan bottles, or what it makes last."""
    import difflib  # noqa: PLC0415 - fast --help

    from middlecut.errors import NotFoundError  # noqa: PLC0415 - the same
    from middlecut.insight.fate import final_lot  # noqa: PLC0415 - the same

    if name is not None:
        if name in prediction.lots:
            return prediction.lots[name]
        near = difflib.get_close_matches(name, prediction.lots, n=3) or list(prediction.lots)[-3:]
        raise NotFoundError("lot", name, tuple(near))
    return prediction.lots[final_lot(prediction.steps.values())]


def _as_json(profile: OdourProfile, clouding: Louche) -> dict[str, Any]:
    return {"odour": profile.to_dict(), "clouding": clouding.to_dict()}


def _text(profile: OdourProfile, clouding: Louche, most: int | None, width: int) -> str:
    import textwrap  # noqa: PLC0415 - fast --help

    from middlecut.plan.sheet_parts import Column  # noqa: PLC0415 - the same
    from middlecut.plan.text_table import lay_out  # noqa: PLC0415 - the same
    from middlecut.units import format_quantity  # noqa: PLC0415 - the same

    strength = format_quantity(profile.strength, "strength")
    title = f"What {profile.lot} is likely to smell of ({strength})"
    parts = [title, "=" * len(title), ""]
    shown = profile.rows[:most]
    if not shown:
        parts += ["Nothing is known in it that smells.", ""]
    else:
        families = [
            [one.family, _range(one.oav, one.oav_low, one.oav_high), _few(one.compounds)]
            for one in profile.families
        ]
        head = [Column("family"), Column("times threshold", "number"), Column("by")]
        parts += lay_out(head, families, width=width)
        parts.append("")
        for verdict in dict.fromkeys(row.verdict for row in shown):
            parts += [f"  {_HEADS[verdict]}", *_table(shown, verdict, width), ""]
        if (hidden := len(profile.rows) - len(shown)) > 0:
            parts.append(f"{hidden} more with --all.")
            parts.append("")
    paragraphs = [_clouding(clouding)]
    if shown:
        paragraphs.insert(0, _IN)
    if profile.without_threshold:
        names = ", ".join(profile.without_threshold)
        paragraphs.append(f"No threshold is known, or no smell, for: {names}.")
    paragraphs += [*profile.notes, clouding.notes[0]]
    for text in paragraphs:
        parts += [*textwrap.wrap(text, width), ""]
    return "\n".join(parts).rstrip()


def _table(rows: Sequence[OdourRow], verdict: str, width: int) -> list[str]:
    from middlecut.plan.sheet_parts import Column  # noqa: PLC0415 - fast --help
    from middlecut.plan.text_table import lay_out  # noqa: PLC0415 - the same

    head = [
        Column("compound"),
        Column("mg/L", "number"),
        Column("times threshold", "number"),
        Column("how strong"),
        Column("in"),
        Column("smells of"),
    ]
    body = [
        [
            row.compound,
            _short(row.concentration),
            _range(row.oav, row.oav_low, row.oav_high),
            row.graded.replace(" to ", "–"),
            row.medium.removesuffix(" vol") + ("*" if row.threshold_basis == "read" else ""),
            row.descriptors[0] if row.descriptors else "",
        ]
        for row in rows
        if row.verdict == verdict
    ]
    return lay_out(head, body, width=width)


def _range(value: float, low: float, high: float) -> str:
    return f"{_short(value)} ({_short(low)}–{_short(high)})"


def _short(value: float) -> str:
    """Return two figures without an exponent; below a hundredth only that it is below."""
    if value < 0.01:
        return "<0.01"
    digits = max(0, 1 - math.floor(math.log10(value)))
    return f"{round(value, digits):.{digits}f}" if value < 100.0 else f"{value:,.0f}"


def _few(names: tuple[str, ...]) -> str:
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return ", ".join(names[:3]) + more


def _clouding(clouding: Louche) -> str:
    from middlecut.units import format_quantity  # noqa: PLC0415 - fast --help

    text = (
        f"Clouding: {clouding.risk} at this strength; what is dissolved is "
        f"{clouding.saturation:.2g} of what can be, within a factor {clouding.factor:g}."
    )
    if clouding.starts_at is None:
        return f"{text} Water is not expected to cloud it at any strength."
    start = format_quantity(clouding.starts_at, "strength")
    bounds = [
        "none" if one is None else format_quantity(one, "strength")
        for one in (clouding.starts_at_low, clouding.starts_at_high)
    ]
    return f"{text} Water clouds it from about {start} down (range {bounds[0]} to {bounds[1]})."

# SPDX-License-Identifier: MIT
"""Make the parameters of steps out of their tables, and judge what one key alone cannot say.

A power above the heater's, cuts whose strengths do not fall, a final gravity above the first one,
a still nobody described, a charge larger than the boiler.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, cast

from middlecut import units
from middlecut.errors import OutOfRangeError
from middlecut.liquid.alcoholometry import WATER_DENSITY_20
from middlecut.plan.build import own_amount
from middlecut.plan.build_additions import Pantry, build_additions, check_fit
from middlecut.plan.flow import default_residue
from middlecut.plan.positions import Path
from middlecut.plan.problems import Problems
from middlecut.plan.quantities import Setting
from middlecut.steps.parameters import (
    Blend,
    Bottle,
    Cut,
    Dilute,
    Distil,
    Draw,
    Ferment,
    PowerChange,
    Steep,
    StepParameters,
    Take,
    Until,
    Wood,
)
from middlecut.steps.still import Still

if TYPE_CHECKING:
    from middlecut.plan import schema

__all__ = ["build_step"]

NO_PANTRY = Pantry()


class _Context:
    """What building a step needs beside its table."""

    def __init__(self, path: Path, stills: Mapping[str, Still | None], problems: Problems) -> None:
        self.path = path
        self.stills = stills
        self.problems = problems

    def add(self, *keys: str | int, message: str, remedy: str) -> None:
        self.problems.add((*self.path, *keys), message, remedy)


def build_step(
    table: schema.StepBase,
    path: Path,
    stills: Mapping[str, Still | None],
    problems: Problems,
    pantry: Pantry = NO_PANTRY,
) -> StepParameters:
    """Return the parameters of one step; a still that could not be read is None."""
    context = _Context(path, stills, problems)
    kind = cast("Any", table).kind
    step = _BUILDERS[kind](table, context)
    _check_doses(table, kind, context)
    additions = build_additions(table, kind, path, pantry, problems)
    if isinstance(step, Ferment | Distil | Steep):
        still = stills.get(step.still) if isinstance(step, Distil) else None
        whole = len(additions) == len(table.add)
        step = replace(step, additions=additions)
        return check_fit(step, path, still, problems) if whole else step
    return step


def _check_doses(table: schema.StepBase, kind: str, context: _Context) -> None:
    takes: tuple[schema.TakeTable, ...] = getattr(table, "takes", ())
    dosed = [index for index, take in enumerate(takes) if take.dose is not None]
    for index in dosed if kind != "blend" else ():
        context.add(
            "from", index, "dose",
            message="a dose goes with a blend step only",
            remedy="Give a volume or a fraction.",
        )  # fmt: skip
    if kind == "blend" and len(dosed) == len(takes):
        context.add(
            "from",
            message="a dose needs something that is dosed",
            remedy="Name a lot without a dose beside it.",
        )


def _take(table: schema.TakeTable) -> Take:
    return Take(table.lot, table.volume, table.fraction, table.dose)


def _steep(table: schema.SteepTable, _: _Context) -> Steep:
    return Steep(
        id=table.id,
        take=_take(table.takes[0]),
        into=table.into,
        additions=(),
        duration=table.duration,
        temperature=table.temperature,
        stirred=table.stirred,
    )


def _ferment(table: schema.FermentTable, context: _Context) -> Ferment:
    return Ferment(
        id=table.id,
        into=table.into,
        volume=table.volume,
        gravity=table.gravity,
        final_gravity=_final_gravity(table, context),
        temperature=table.temperature,
        duration=table.duration,
        settling=table.settling,
        lees=table.lees,
        reserve=tuple((item.into, item.volume) for item in table.reserve),
        compounds={key: own_amount(level) for key, level in table.compounds.items()},
        profile=table.profile,
        profile_stated="profile" in table.model_fields_set,
    )


def _final_gravity(table: schema.FermentTable, context: _Context) -> float:
    final = table.final_gravity
    if table.attenuation is not None:
        return _attenuated(table.gravity, table.attenuation, context)
    if final is not None and final >= table.gravity:
        shown = units.format_quantity(table.gravity, "gravity")
        context.add(
            "final_gravity",
            message=f"the final gravity has to be below the first gravity, {shown}",
            remedy="Swap the two, or correct the one that is wrong.",
        )
    return final if final is not None else table.gravity


def _attenuated(gravity: float, attenuation: float, context: _Context) -> float:
    from middlecut.liquid import extract  # noqa: PLC0415 - its tables only when needed

    try:
        return float(extract.final_gravity_from_attenuation(gravity, attenuation))
    except OutOfRangeError:
        context.add(
            "attenuation",
            message=f"the wash would end below {extract.LOWEST_GRAVITY} SG",
            remedy="Give a lower attenuation, or the final gravity as measured.",
        )
        return gravity


def _draw(table: schema.DrawTable, _: _Context) -> Draw:
    return Draw(table.id, _take(table.takes[0]), table.into)


def _blend(table: schema.BlendTable, _: _Context) -> Blend:
    return Blend(table.id, tuple(_take(take) for take in table.takes), table.into)


def _dilute(table: schema.DiluteTable, _: _Context) -> Dilute:
    return Dilute(
        id=table.id,
        take=_take(table.takes[0]),
        strength=table.strength,
        into=table.into,
        additions=int(table.additions),
        water_temperature=table.water_temperature,
    )


def _bottle(table: schema.BottleTable, _: _Context) -> Bottle:
    return Bottle(
        id=table.id,
        take=_take(table.takes[0]),
        into=table.into,
        bottle_volume=table.bottle_volume,
        label_strength=table.strength,
        tolerance=table.tolerance,
        loss=table.loss,
    )


def _wood(table: schema.WoodTable, context: _Context) -> Wood:
    piece = table.piece
    if table.form == "cask":
        for key, example in (("cask_volume", '"20 L"'), ("climate", '"temperate"')):
            if getattr(table, key) is None:
                context.add(
                    key, message=f"a cask needs its {key}", remedy=f"Add {key} = {example}."
                )
    elif table.dose is None and table.area is None:
        context.add(
            "dose",
            message=f"how much wood is wanted: dose or area of the {table.form}",
            remedy='Add dose = "4 g/L", or area = "120 cm2".',
        )
    for key in _NOT_WITH["cask" if table.form == "cask" else "pieces"]:
        if getattr(table, key) is not None:
            context.add(
                key,
                message=f'{key} does not go with form = "{table.form}"',
                remedy="Take one of the two out.",
            )
    return Wood(
        id=table.id,
        take=_take(table.takes[0]),
        into=table.into,
        duration=table.duration,
        form=table.form,
        species=table.species,
        treatment=table.treatment,
        cask_volume=table.cask_volume,
        dose=table.dose,
        area=table.area,
        piece=None if piece is None else (piece[0], piece[1], piece[2]),
        temperature=table.temperature,
        climate=table.climate or "",
        yearly_loss=table.yearly_loss,
        earlier_fills=int(table.earlier_fills),
        forced=table.forced,
    )


_NOT_WITH = {"cask": ("dose", "area", "piece"), "pieces": ("cask_volume", "climate", "yearly_loss")}


def _distil(table: schema.DistilTable, context: _Context) -> Distil:
    still = context.stills.get(table.still)
    _check_charge(table, still, context)
    _check_cut_order(table, context)
    power = _power(table.power, still, context, "power")
    return Distil(
        id=table.id,
        takes=tuple(_take(take) for take in table.takes),
        still=table.still,
        purpose=table.purpose,
        cuts=tuple(_cut(cut, still, context, index) for index, cut in enumerate(table.cuts)),
        residue=table.residue or default_residue(table.id),
        water=table.water,
        power=power,
        heat_up_power=_power(table.heat_up_power, still, context, "heat_up_power"),
        total_reflux=table.total_reflux,
        power_changes=tuple(
            PowerChange(
                change.at, _power(change.power, still, context, "power_changes", index, "power")
            )
            for index, change in enumerate(table.power_changes)
        ),
        charge_temperature=table.charge_temperature,
    )


def _cut(table: schema.CutTable, still: Still | None, context: _Context, index: int) -> Cut:
    power = table.power
    return Cut(
        into=table.into,
        until=table.until,
        power=None if power is None else _power(power, still, context, "cuts", index, "power"),
        coolant_duty=table.coolant_duty,
        reflux_ratio=table.reflux_ratio,
        jar_volume=table.jars,
    )


def _power(setting: Setting, still: Still | None, context: _Context, *keys: str | int) -> float:
    """Return a setting as a fraction of full power."""
    if setting.fraction is not None:
        return setting.fraction
    power = setting.power or 0.0
    if still is None:
        return 1.0
    if power > still.heater_power * (1.0 + 1e-9):
        full = units.format_quantity(still.heater_power, "power")
        context.add(
            *keys,
            message=f'still "{still.name}" has a heater of {full}',
            remedy=f'Write "100 %" or less than {full}.',
        )
    return min(1.0, power / still.heater_power)


def _check_charge(table: schema.DistilTable, still: Still | None, context: _Context) -> None:
    known = sum(take.volume or 0.0 for take in table.takes) + table.water / WATER_DENSITY_20
    if still is not None and known > still.boiler_volume:
        charge, brim = (units.format_quantity(v, "volume") for v in (known, still.boiler_volume))
        context.add(
            "from",
            message=f'a charge of {charge} does not go into still "{still.name}" of {brim}',
            remedy="Divide the charge over several runs, or take a larger still.",
        )
    if still is not None and still.reflux_ratio is None:
        for index, cut in enumerate(table.cuts):
            if cut.reflux_ratio is not None:
                context.add(
                    "cuts",
                    index,
                    "reflux_ratio",
                    message=f'still "{still.name}" has no divider to set a ratio',
                    remedy="Give the still a reflux_ratio, or take this one out.",
                )


_ORDER = (
    ("strength", -1.0, "strength", "fall"),
    ("head_temperature", 1.0, "temperature", "rise"),
    ("time", 1.0, "duration", "rise"),
    ("boiler_volume", -1.0, "volume", "fall"),
)


def _check_cut_order(table: schema.DistilTable, context: _Context) -> None:
    """Note a cut that ends where an earlier one of its kind already did: it would stay empty."""
    for key, sign, dimension, word in _ORDER:
        last: float | None = None
        for index, cut in enumerate(table.cuts):
            value = _limit(cut.until, key)
            if value is None:
                continue
            if last is not None and sign * (value - last) <= 0.0:
                earlier = units.format_quantity(last, dimension)
                context.add(
                    "cuts",
                    index,
                    "until",
                    message=f"an earlier cut already runs until {earlier}; "
                    f"along a run these have to {word}",
                    remedy="Put the cuts in the order they run, or correct the number.",
                )
            last = value


def _limit(until: Until, key: str) -> float | None:
    return cast("float | None", getattr(until, key))


_BUILDERS: Mapping[str, Callable[[Any, _Context], StepParameters]] = {
    "ferment": _ferment,
    "draw": _draw,
    "distil": _distil,
    "blend": _blend,
    "dilute": _dilute,
    "bottle": _bottle,
    "steep": _steep,
    "wood": _wood,
}

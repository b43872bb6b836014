# SPDX-License-Identifier: MIT
"""Read a plan file; everything wrong with it is reported at once."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterable, Iterator, Mapping

from middlecut.errors import PlanError, Problem
from middlecut.liquid.ingredients import Ingredient
from middlecut.liquid.own_names import OwnCompound
from middlecut.plan import positions
from middlecut.plan.build import build_batch, build_lot, build_still
from middlecut.plan.build_additions import (
    Pantry,
    check_names,
    of_library,
    read_compounds,
    read_own,
)
from middlecut.plan.build_steps import build_step
from middlecut.plan.document import LARGEST, TOO_DEEP, parse_text, read_file, refused
from middlecut.plan.flow import Flow, check_lots, flow_of, volume_of
from middlecut.plan.model import Batch, Plan
from middlecut.plan.positions import Path
from middlecut.plan.presence import check_presence
from middlecut.plan.problems import Problems, nearest, quote
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import StepParameters
from middlecut.steps.still import Still

__all__ = ["LARGEST", "check_plan", "load_plan", "read_plan_text"]

MOST_STEPS = 500
MOST_PROBLEMS = 200
SECTIONS = ("batch", "still", "ingredient", "compound", "lot", "step")

FileName = str | os.PathLike[str]


def load_plan(path: FileName, library: Iterable[Ingredient] = ()) -> Plan:
    """Read and check a plan file.

    Parameters
    ----------
    path : str or path
        The TOML file.
    library : iterable of Ingredient
        Further ingredients of the user's own, with their compounds where
        :func:`middlecut.read_library` read them; those of the plan win over them.

    Returns
    -------
    plan : Plan
        In SI units, ready for :func:`middlecut.predict`.

    Raises
    ------
    PlanError
        With every problem of the file: key, value, line, what is allowed and what to do.
    """
    name = os.fspath(path)
    return read_plan_text(read_file(name), name, library)


def check_plan(path: FileName, library: Iterable[Ingredient] = ()) -> tuple[Problem, ...]:
    """Return everything wrong with a plan file, after carrying the plan out once.

    What stands in the file is judged all at once; if nothing is wrong with it, the plan is
    predicted, and what the first step that cannot be done asks for is returned.

    Parameters
    ----------
    path : str or path
        The TOML file.
    library : iterable of Ingredient
        Further ingredients of the user's own.

    Returns
    -------
    problems : tuple of Problem
        In the order of the file; empty when :func:`middlecut.predict` can carry the plan out.

    Raises
    ------
    ConvergenceError
        If a numerical method fails on the way.
    BalanceError
        If an account does not close, which is a fault of middlecut.
    """
    from middlecut.plan.predict import predict  # noqa: PLC0415 - the steps, only to try the plan

    try:
        predict(load_plan(path, library))
    except PlanError as error:
        return error.problems
    return ()


def read_plan_text(text: str, path: str = "plan", library: Iterable[Ingredient] = ()) -> Plan:
    """Read and check a plan given as text.

    Parameters
    ----------
    text : str
        The TOML document.
    path : str
        Name to use in messages.
    library : iterable of Ingredient
        Further ingredients of the user's own.

    Returns
    -------
    plan : Plan
        In SI units, ready for :func:`middlecut.predict`.

    Raises
    ------
    PlanError
        With every problem of the text: key, value, line, what is allowed and what to do.

    Examples
    --------
    >>> plan = read_plan_text('''
    ... [batch]
    ... name = "Rye"
    ... [[step]]
    ... id = "wash"
    ... kind = "ferment"
    ... into = "wash"
    ... volume = "25 L"
    ... gravity = "1.062 SG"
    ... final_gravity = "1.010 SG"
    ... temperature = "28 °C"
    ... duration = "6 d"
    ... ''')
    >>> plan.steps[0].volume
    0.025
    """
    text = text.removeprefix("\ufeff")
    document = parse_text(text, path)
    try:
        places = positions.locate(text)
        reader = _Reader(document, Problems(document, places), library)
        plan = reader.plan(path, text)
    except RecursionError:
        raise refused(path, "the file", *TOO_DEEP) from None
    found = reader.problems.all()
    if len(found) > MOST_PROBLEMS:
        more = f"{len(found) - MOST_PROBLEMS} more problems are not shown."
        found = (*found[:MOST_PROBLEMS], Problem("the file", "", more, "Mend these first."))
    if found:
        raise PlanError(path, found)
    return plan


class _Reader:
    """Reads one document; notes problems as it goes and carries on."""

    def __init__(
        self,
        document: Mapping[str, object],
        problems: Problems,
        library: Iterable[Ingredient],
    ) -> None:
        from middlecut.plan import schema  # noqa: PLC0415 - pydantic only when a plan is read

        self.schema = schema
        self.document = document
        self.problems = problems
        self.library = library

    def plan(self, path: str, text: str) -> Plan:
        """Return the plan; it may only be used if no problem was noted."""
        self._check_sections()
        compounds = self._compounds()
        self.problems.context = compounds
        stills = dict(self._stills())
        given = [lot for lot in self._given() if lot is not None]
        own = self._ingredients(compounds)
        batch, start = self._batch()
        steps = self._steps(stills, Pantry(tuple(own.values()), start))
        return Plan(
            path=path,
            batch=batch,
            steps=tuple(steps.values()),
            stills={name: still for name, still in stills.items() if still is not None},
            given=tuple(given),
            ingredients=own,
            compounds={one.name: one for one in compounds},
            text=text,
            lines={
                step.id: self.problems.line(("step", index)) or 0 for index, step in steps.items()
            },
        )

    def _compounds(self) -> tuple[OwnCompound, ...]:
        known = getattr(self.library, "compounds", ())
        return read_compounds(self._named("compound"), known, self.problems)

    def _ingredients(self, compounds: tuple[OwnCompound, ...]) -> dict[str, Ingredient]:
        own = of_library(self.library, compounds)
        for name, raw in self._named("ingredient"):
            own[name] = read_own(name, raw, self.problems, compounds)
        return own

    def _check_sections(self) -> None:
        for key in self.document:
            if key not in SECTIONS:
                near = nearest(key, SECTIONS)
                known = ", ".join(f"[{word}.NAME]" for word in SECTIONS[1:5])
                self.problems.add(
                    (key,),
                    f"there is no section {key!r}; a plan has [batch], {known} and [[step]]",
                    f"Did you mean {near}?" if near else "Take it out.",
                )

    def _batch(self) -> tuple[Batch, dt.datetime | None]:
        raw = self.document.get("batch")
        if not isinstance(raw, Mapping):
            remedy = 'Begin the file with [batch] and name = "…".'
            self.problems.add(("batch",), "a [batch] section is needed", remedy)
            return Batch(""), None
        check_presence("batch", raw, ("batch",), self.problems)
        table = self.problems.read(self.schema.BatchTable, raw, ("batch",))
        if table is None:
            return Batch(""), None
        return build_batch(table, self.problems), table.start

    def _named(self, section: str) -> Iterator[tuple[str, Mapping[str, object]]]:
        raw = self.document.get(section, {})
        if not isinstance(raw, Mapping):
            self.problems.add(
                (section,), "each one needs a name of its own", f"Write [{section}.NAME]."
            )
            return
        for name, values in raw.items():
            if not isinstance(values, Mapping):
                message = f"in the section {section}, each entry is a table with a name"
                self.problems.add((section, name), message, f"Write [{section}.NAME] above it.")
            elif not name.strip() or len(name) > 60 or not name.isprintable():
                message = "a name has 1 to 60 characters that can be seen"
                self.problems.add((section, name), message, "Rename it.")
            else:
                yield name, values

    def _stills(self) -> Iterator[tuple[str, Still | None]]:
        for name, raw in self._named("still"):
            check_presence("still", raw, ("still", name), self.problems)
            table = self.problems.read(self.schema.StillTable, raw, ("still", name))
            yield name, None if table is None else build_still(name, table, self.problems)

    def _given(self) -> Iterator[Lot | None]:
        for name, raw in self._named("lot"):
            table = self.problems.read(self.schema.LotTable, raw, ("lot", name))
            yield None if table is None else build_lot(name, table, self.problems)

    def _steps(
        self, stills: Mapping[str, Still | None], pantry: Pantry
    ) -> dict[int, StepParameters]:
        raw = self.document.get("step")
        if not isinstance(raw, list) or not raw:
            remedy = 'Add [[step]] with an id and kind = "ferment".'
            self.problems.add(("step",), "a plan needs at least one [[step]]", remedy)
            return {}
        if len(raw) > MOST_STEPS:
            message = f"a plan has at most {MOST_STEPS} steps, this one has {len(raw)}"
            self.problems.add(("step", MOST_STEPS), message, "Divide it into several plans.")
            return {}
        steps: dict[int, StepParameters] = {}
        flows: list[Flow] = []
        ids: dict[str, int] = {}
        for index, item in enumerate(raw):
            path: Path = ("step", index)
            if not isinstance(item, Mapping):
                self.problems.add(path, "a step is a table", "Write [[step]] above its keys.")
                continue
            name = item["id"] if isinstance(item.get("id"), str) else f"number {index + 1}"
            flows.append(flow_of(item, path, name))
            if ids.setdefault(name, index) != index:
                line = self.problems.line(("step", ids[name]))
                message = f"the step in line {line} has the same id"
                self.problems.add((*path, "id"), message, "Give each step its own id.", value=name)
            step = self._step(item, path, stills, pantry)
            if step is not None:
                steps[index] = step
        given = {
            name: volume_of(values.get("volume")) for name, values in self._named_quietly("lot")
        }
        check_lots(flows, given, self.problems)
        check_names(steps, flows, self.problems)
        return steps

    def _named_quietly(self, section: str) -> Iterator[tuple[str, Mapping[str, object]]]:
        raw = self.document.get(section)
        for name, values in raw.items() if isinstance(raw, Mapping) else ():
            if isinstance(values, Mapping):
                yield name, values

    def _step(
        self,
        raw: Mapping[str, object],
        path: Path,
        stills: Mapping[str, Still | None],
        pantry: Pantry,
    ) -> StepParameters | None:
        kind = raw.get("kind")
        model = self.schema.KINDS.get(kind) if isinstance(kind, str) else None
        if model is None:
            known = quote(list(self.schema.KINDS))
            near = nearest(kind, list(self.schema.KINDS)) if isinstance(kind, str) else ""
            remedy = f'Did you mean "{near}"?' if near else 'Write for example kind = "ferment".'
            message = f"a step has a kind: {known}"
            self.problems.add((*path, "kind"), message, remedy, value=kind)
            return None
        self._check_step(raw, path, stills)
        table = self.problems.read(model, raw, path)
        if table is None:
            return None
        return build_step(table, path, stills, self.problems, pantry)

    def _check_step(
        self, raw: Mapping[str, object], path: Path, stills: Mapping[str, Still | None]
    ) -> None:
        """Note what can be said of a step even while some of its values cannot be read."""
        check_presence(str(raw["kind"]), raw, path, self.problems)
        items = raw.get("from")
        for index, item in enumerate(items if isinstance(items, list) else [items]):
            if isinstance(item, Mapping):
                check_presence("take", item, (*path, "from", index), self.problems)
        still = raw.get("still")
        if raw["kind"] == "distil" and isinstance(still, str) and still not in stills:
            known = quote(list(stills))
            message = f"no still of that name is described; there is {known}"
            near = nearest(still, list(stills))
            remedy = f'Did you mean "{near}"?' if near else f"Add a section [still.{still}]."
            self.problems.add(
                (*path, "still"),
                message if known else "no still is described",
                remedy,
                value=still,
            )

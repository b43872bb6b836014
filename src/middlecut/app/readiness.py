# SPDX-License-Identifier: MIT
"""Whether what a step takes is there yet, and the question to whoever starts it without."""

from __future__ import annotations

from dataclasses import dataclass

from middlecut.app.measured import measured_lots
from middlecut.app.spirit_events import HeartsChosen
from middlecut.app.views.frame import StepFrame
from middlecut.errors import InputError

__all__ = ["MissingLot", "check_ready", "missing_lots"]


@dataclass(frozen=True, slots=True)
class MissingLot:
    """A lot that a step takes and that nobody has made yet.

    Parameters
    ----------
    lot : str
        Its name.
    maker : str
        The step that makes it.
    standing : str
        Of that step: "planned" or "under way".
    """

    lot: str
    maker: str
    standing: str

    @property
    def text(self) -> str:
        """In words, without a full stop."""
        how = "has not been started" if self.standing == "planned" else "is still under way"
        return f"{self.lot} is not there yet: step {self.maker}, which makes it, {how}"


def missing_lots(frame: StepFrame) -> tuple[MissingLot, ...]:
    """Return the lots a step takes that are not there yet.

    A lot is there when the step that makes it is finished, or when something of it was measured,
    put into a jar or chosen.

    Parameters
    ----------
    frame : StepFrame

    Returns
    -------
    missing : tuple of MissingLot
        In the plan's order.
    """
    seen = set(measured_lots(frame.state))
    seen |= {body.lot for _, body in frame.state.of(HeartsChosen)}
    standing = {one.outline.step: one.word for one in frame.state.steps()}
    makers = {lot: step for step, result in frame.prediction.steps.items() for lot in result.made}
    found = []
    for lot in frame.result.used:
        maker = makers.get(lot)
        if maker is not None and standing.get(maker) != "done" and lot not in seen:
            found.append(MissingLot(lot, maker, standing.get(maker, "planned")))
    return tuple(found)


def check_ready(frame: StepFrame) -> None:
    """Ask whether a step is really to go on without what it takes.

    Parameters
    ----------
    frame : StepFrame
        Of a step that was not started; one that was is asked nothing more.

    Raises
    ------
    InputError
        If something it takes is not there yet; the field is "anyway".
    """
    missing = () if frame.step.started is not None else missing_lots(frame)
    if missing:
        steps = ", ".join(dict.fromkeys(one.maker for one in missing))
        raise InputError(
            "anyway",
            "",
            "; ".join(one.text for one in missing),
            f"Enter the end of {steps} first, or say with “anyway” that the liquid is there all "
            "the same.",
        )

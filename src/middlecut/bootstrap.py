# SPDX-License-Identifier: MIT
"""The one place that starts middlecut: runs the command line and turns errors into sentences."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from io import TextIOWrapper
from typing import TYPE_CHECKING

from middlecut.errors import MiddlecutError

if TYPE_CHECKING:
    from middlecut.app.ports import Shelf
    from middlecut.cli.doors import Opening

__all__ = ["main"]


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and leave the process with a documented exit code.

    Parameters
    ----------
    arguments : sequence of str or None
        What would follow the program's name; None takes the process's own.

    Raises
    ------
    SystemExit
        Always: 0 done, 1 unexpected fault, 2 input not usable, 3 a numerical method failed or an
        account stayed open, 4 the record cannot be used, 130 interrupted.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a terminal without °C is no reason to fail
            stream.reconfigure(errors="replace")
    try:
        from middlecut.cli.application import application  # noqa: PLC0415 - inside the guard
        from middlecut.cli.doors import Doors  # noqa: PLC0415 - the same

        application(args=arguments, prog_name="middlecut", obj=Doors(shelf=_shelf, serve=_serve))
    except MiddlecutError as error:
        from middlecut.cli.endings import exit_code, sentence  # noqa: PLC0415 - only when needed

        print(sentence(error), file=sys.stderr)  # noqa: T201 - the program's voice
        raise SystemExit(exit_code(error)) from None
    except KeyboardInterrupt:
        raise SystemExit(130) from None
    except Exception as fault:  # noqa: BLE001 - the last guard: a report instead of a traceback
        from middlecut.cli.endings import FAULT, report_fault  # noqa: PLC0415 - only when needed

        print(report_fault(fault, sys.argv), file=sys.stderr)  # noqa: T201 - the program's voice
        raise SystemExit(FAULT) from None


def _shelf() -> Shelf:
    from middlecut.adapters.shelf import LocalShelf  # noqa: PLC0415 - only who needs the record

    return LocalShelf()


def _serve(opening: Opening) -> None:
    """Open the app, with everything it needs put together here."""
    # All of this is loaded late: other commands never need it.
    from middlecut.adapters.system import RandomIds, SystemClock  # noqa: PLC0415
    from middlecut.app.demo import demo_place, seed_demo  # noqa: PLC0415
    from middlecut.app.own_library import OwnLibrary  # noqa: PLC0415
    from middlecut.app.ranges import Ranges  # noqa: PLC0415
    from middlecut.app.record import Record  # noqa: PLC0415
    from middlecut.app.warming import warmed_up  # noqa: PLC0415
    from middlecut.cli.library import usual_file  # noqa: PLC0415
    from middlecut.web.application import create_app  # noqa: PLC0415
    from middlecut.web.services import Services  # noqa: PLC0415
    from middlecut.web.serving import bind, serve  # noqa: PLC0415

    shelf = _shelf()
    place = opening.place
    if opening.demo and place is None:
        place = demo_place(shelf.default_place())
    sockets, address = bind(opening.port, shared=opening.shared)
    store = shelf.open(place)
    try:
        record = Record(store, SystemClock(), RandomIds())
        if opening.demo:
            seed_demo(record)
        library = OwnLibrary(usual_file())
        services = Services(record, address, ranges=Ranges(), library=library)
        application = create_app(services)
        with warmed_up(record):
            serve(application, sockets, services, say=opening.say, browse=opening.browse)
    finally:
        store.close()

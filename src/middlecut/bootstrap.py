# SPDX-License-Identifier: MIT
"""The one place that starts middlecut: runs the command line and turns errors into sentences."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from io import TextIOWrapper

from middlecut.errors import MiddlecutError

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
        account stayed open, 130 interrupted.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a terminal without °C is no reason to fail
            stream.reconfigure(errors="replace")
    try:
        from middlecut.cli.application import application  # noqa: PLC0415 - inside the guard

        application(args=arguments, prog_name="middlecut")
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

# SPDX-License-Identifier: MIT
"""The command line: which commands there are and what holds for all of them."""

from __future__ import annotations

from typing import Annotated

import typer

from middlecut.cli.backup import backup
from middlecut.cli.calibrate import calibrate
from middlecut.cli.check import check
from middlecut.cli.demo import demo
from middlecut.cli.diagnose import diagnose
from middlecut.cli.dilute import dilute
from middlecut.cli.endings import EXIT_CODES
from middlecut.cli.export import export
from middlecut.cli.follow import follow
from middlecut.cli.nose import nose
from middlecut.cli.open import open_app
from middlecut.cli.pantry import pantry
from middlecut.cli.predict import predict
from middlecut.cli.restore import restore
from middlecut.cli.route import route
from middlecut.cli.scale import scale
from middlecut.cli.strength import strength
from middlecut.cli.verify import verify
from middlecut.cli.vocabulary import vocabulary
from middlecut.cli.wood_sample import wood_sample
from middlecut.cli.words import QuantityCommand

__all__ = ["application"]

application = typer.Typer(
    name="middlecut",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    epilog="\b\nExit codes:\n" + "\n".join(f"{code:>5}  {text}" for code, text in EXIT_CODES),
    context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 100},
)


def _version(wanted: bool) -> None:
    if wanted:
        from middlecut import __version__  # noqa: PLC0415 - only when asked

        typer.echo(f"middlecut {__version__}")
        raise typer.Exit


@application.callback()
def describe(
    _version_wanted: Annotated[
        bool,
        typer.Option(
            "--version", callback=_version, is_eager=True, help="Show the version and leave."
        ),
    ] = False,
) -> None:
    """Predict a small batch of flavoured spirit, from wash to bottle.

    A plan file says what is intended; middlecut says what each step will do to volume, strength,
    time, energy and flavour, and what to watch. Quantities carry their unit: "2.4 L", "63 %vol".
    """


application.add_typer(pantry)
for command in (
    demo,
    check,
    predict,
    follow,
    calibrate,
    scale,
    route,
    nose,
    diagnose,
    vocabulary,
    strength,
    dilute,
    wood_sample,
):
    application.command(cls=QuantityCommand)(command)
application.command()(backup)
application.command()(restore)
application.command()(export)
application.command()(verify)
application.command("open")(open_app)

# SPDX-License-Identifier: MIT
"""A still picture of boxes, ribbons and words: as SVG by our own writer, or as PNG."""

from __future__ import annotations

import io
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal
from xml.sax.saxutils import escape, quoteattr

from middlecut.errors import NotYetError

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = [
    "ACCENT",
    "FADED",
    "INK",
    "PAPER",
    "RULE",
    "Box",
    "Drawing",
    "Ribbon",
    "Words",
    "clipped",
    "shade",
]

PAPER, INK, FADED, RULE, ACCENT = "#fffdf8", "#1d1a16", "#5c544a", "#cfc5b4", "#8a3b12"

_FONT = "system-ui, 'Segoe UI', Roboto, 'Noto Sans', 'DejaVu Sans', sans-serif"
_WIDTHS = 0.54  # of a letter, on average, as a share of its size
_DPI = 144.0


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle.

    Parameters
    ----------
    x, y, width, height : float
        Its upper left corner and size. [px]
    fill, stroke : str
        Colours; "none" for none.
    title : str
        What it stands for, told by a pointer or a screen reader.
    """

    x: float
    y: float
    width: float
    height: float
    fill: str
    stroke: str = "none"
    title: str = ""


@dataclass(frozen=True, slots=True)
class Ribbon:
    """A band that leads from a left edge to a right edge.

    Parameters
    ----------
    x, y, to_x, to_y : float
        Upper corner at either end. [px]
    width : float
        Its height, the same at both ends. [px]
    fill : str
        Colour.
    title : str
        What it stands for.
    """

    x: float
    y: float
    to_x: float
    to_y: float
    width: float
    fill: str
    title: str = ""

    def corners(self) -> tuple[tuple[float, float], ...]:
        """Return the eight points: a curve forth, an edge, a curve back."""
        middle = 0.5 * (self.x + self.to_x)
        low, to_low = self.y + self.width, self.to_y + self.width
        return (
            (self.x, self.y),
            (middle, self.y),
            (middle, self.to_y),
            (self.to_x, self.to_y),
            (self.to_x, to_low),
            (middle, to_low),
            (middle, low),
            (self.x, low),
        )


@dataclass(frozen=True, slots=True)
class Words:
    """A line of text.

    Parameters
    ----------
    x, y : float
        Where its foot begins, ends or has its middle. [px]
    text : str
    size : float
        [px]
    fill : str
        Colour.
    anchor : {"start", "middle", "end"}
    bold : bool
    """

    x: float
    y: float
    text: str
    size: float = 13.0
    fill: str = INK
    anchor: Literal["start", "middle", "end"] = "start"
    bold: bool = False


@dataclass(slots=True)
class Drawing:
    """A picture with a title and a description that can be read aloud.

    Parameters
    ----------
    width, height : float
        [px]
    title, description : str
        For those who do not see it.
    parts : list of Box, Ribbon or Words
        Drawn in order.
    """

    width: float
    height: float
    title: str
    description: str
    parts: list[Box | Ribbon | Words] = field(default_factory=list)

    def to_svg(self) -> str:
        """Return the picture as an SVG document that needs nothing from outside."""
        width, height = f"{self.width:.0f}", f"{self.height:.0f}"
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
            f'viewBox="0 0 {width} {height}" role="img" '
            f'aria-labelledby="title description" font-family={quoteattr(_FONT)}>'
        )
        return "\n".join(
            [
                head,
                f'<title id="title">{escape(self.title)}</title>',
                f'<desc id="description">{escape(self.description)}</desc>',
                f'<rect width="100%" height="100%" fill="{PAPER}"/>',
                *(_svg(part) for part in self.parts),
                "</svg>\n",
            ]
        )

    def to_png(self) -> bytes:
        """Return the picture as PNG, at 1.5 times its size.

        Raises
        ------
        NotYetError
            If Matplotlib is not installed; it comes with the extra "figures".
        """
        try:
            from matplotlib.figure import Figure  # noqa: PLC0415 - optional and costly
        except ImportError as error:
            raise NotYetError(
                "picture",
                "PNG",
                "it needs Matplotlib, which is not installed",
                "Install middlecut[figures], or write the picture as .svg.",
            ) from error
        figure = Figure(figsize=(self.width / 96.0, self.height / 96.0), facecolor=PAPER)
        axes: Axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set_xlim(0.0, self.width)
        axes.set_ylim(self.height, 0.0)
        axes.axis("off")
        for part in self.parts:
            _paint(axes, part)
        target = io.BytesIO()
        words = {"Title": self.title, "Description": self.description, "Software": "middlecut"}
        figure.savefig(target, format="png", dpi=_DPI, metadata=words)
        return target.getvalue()


def shade(share: float) -> str:
    """Return a colour between paper and accent.

    Parameters
    ----------
    share : float
        0 for paper, 1 for the accent.

    Returns
    -------
    str

    Examples
    --------
    >>> shade(0.0), shade(1.0)
    ('#fffdf8', '#8a3b12')
    """
    ends = [[int(colour[at : at + 2], 16) for at in (1, 3, 5)] for colour in (PAPER, ACCENT)]
    mixed = [round(low + (high - low) * share) for low, high in zip(*ends, strict=True)]
    return "#" + "".join(f"{value:02x}" for value in mixed)


def clipped(text: str, width: float, size: float = 13.0) -> str:
    """Return the text, cut to about a width with an ellipsis.

    Parameters
    ----------
    text : str
    width, size : float
        [px]

    Returns
    -------
    str

    Examples
    --------
    >>> clipped("2-isobutyl-3-methoxypyrazine", 100.0)
    '2-isobutyl-3…'
    """
    most = max(1, int(width / (_WIDTHS * size)))
    return text if len(text) <= most else text[: most - 1].rstrip("- ") + "…"


def _svg(part: Box | Ribbon | Words) -> str:
    if isinstance(part, Words):
        weight = ' font-weight="600"' if part.bold else ""
        anchor = "" if part.anchor == "start" else f' text-anchor="{part.anchor}"'
        return (
            f'<text x="{part.x:.1f}" y="{part.y:.1f}" font-size="{part.size:g}" '
            f'fill="{part.fill}"{anchor}{weight}>{escape(part.text)}</text>'
        )
    title = f"<title>{escape(part.title)}</title>" if part.title else ""
    if isinstance(part, Box):
        return (
            f'<rect x="{part.x:.1f}" y="{part.y:.1f}" width="{part.width:.1f}" '
            f'height="{part.height:.1f}" fill="{part.fill}" stroke="{part.stroke}">{title}</rect>'
        )
    points = [f"{x:.1f} {y:.1f}" for x, y in part.corners()]
    return (
        f'<path d="M{points[0]} C{" ".join(points[1:4])} L{points[4]} '
        f'C{" ".join(points[5:8])} Z" fill="{part.fill}" fill-opacity="0.75">{title}</path>'
    )


def _paint(axes: Axes, part: Box | Ribbon | Words) -> None:
    from matplotlib.patches import PathPatch, Rectangle  # noqa: PLC0415 - optional
    from matplotlib.path import Path  # noqa: PLC0415 - the same

    if isinstance(part, Words):
        places = {"start": "left", "middle": "center", "end": "right"}
        axes.text(
            part.x,
            part.y,
            part.text.replace("$", r"\$"),
            fontsize=part.size * 72.0 / 96.0,
            color=part.fill,
            ha=places[part.anchor],
            va="baseline",
            weight="bold" if part.bold else "normal",
        )
    elif isinstance(part, Box):
        axes.add_patch(
            Rectangle(
                (part.x, part.y),
                part.width,
                part.height,
                facecolor=part.fill,
                edgecolor=part.stroke,
                linewidth=0.75,
            )
        )
    else:
        codes = [Path.MOVETO, *[Path.CURVE4] * 3, Path.LINETO, *[Path.CURVE4] * 3]
        path = Path(list(part.corners()), codes)
        axes.add_patch(PathPatch(path, facecolor=part.fill, alpha=0.75, linewidth=0.0))

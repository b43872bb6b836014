# SPDX-License-Identifier: MIT
"""The nonlinear regression sets of NIST: files, models, certified values."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

DATA = Path(__file__).parent / "data"
_ROW = re.compile(r"^\s*b(\d)\s*=\s*(\S+)\s+(\S+)\s+(\S+)\s+(\S+)\s*$", re.MULTILINE)
_LINES = re.compile(r"Data\s+\(lines\s+(\d+)\s+to\s+(\d+)\)")


@dataclass(frozen=True)
class Certified:
    name: str
    starts: NDArray[np.float64]  # two rows
    values: NDArray[np.float64]
    errors: NDArray[np.float64]
    sum_of_squares: float
    deviation: float
    y: NDArray[np.longdouble]
    x: NDArray[np.longdouble]


def numbers(text: str) -> list[np.longdouble]:
    return [np.longdouble(word) for word in text.split()]


def read(name: str) -> Certified:
    text = (DATA / f"{name}.dat").read_text(encoding="ascii")
    rows = np.array([[float(cell) for cell in match.groups()[1:]] for match in _ROW.finditer(text)])
    found = _LINES.search(text)
    assert found is not None
    first, last = int(found[1]), int(found[2])
    table = np.array([numbers(line) for line in text.splitlines()[first - 1 : last]])
    squares = re.search(r"Residual Sum of Squares:\s+(\S+)", text)
    spread = re.search(r"Residual Standard Deviation:\s+(\S+)", text)
    assert squares is not None
    assert spread is not None
    y = table[:, 0]
    return Certified(
        name=name,
        starts=rows[:, :2].T,
        values=rows[:, 2],
        errors=rows[:, 3],
        sum_of_squares=float(squares[1]),
        deviation=float(spread[1]),
        y=np.log(y) if name == "Nelson" else y,
        x=table[:, 1] if table.shape[1] == 2 else table[:, 1:],
    )


PI = np.longdouble("3.141592653589793238462643383279")


def _gauss(b: Any, x: Any) -> Any:
    return (
        b[0] * np.exp(-b[1] * x)
        + b[2] * np.exp(-((x - b[3]) ** 2) / b[4] ** 2)
        + b[5] * np.exp(-((x - b[6]) ** 2) / b[7] ** 2)
    )


def _lanczos(b: Any, x: Any) -> Any:
    return b[0] * np.exp(-b[1] * x) + b[2] * np.exp(-b[3] * x) + b[4] * np.exp(-b[5] * x)


def _cubics(b: Any, x: Any) -> Any:
    top = b[0] + b[1] * x + b[2] * x**2 + b[3] * x**3
    return top / (1 + b[4] * x + b[5] * x**2 + b[6] * x**3)


def _enso(b: Any, x: Any) -> Any:
    total = b[0] + b[1] * np.cos(2 * PI * x / 12) + b[2] * np.sin(2 * PI * x / 12)
    total = total + b[4] * np.cos(2 * PI * x / b[3]) + b[5] * np.sin(2 * PI * x / b[3])
    return total + b[7] * np.cos(2 * PI * x / b[6]) + b[8] * np.sin(2 * PI * x / b[6])


def _chwirut(b: Any, x: Any) -> Any:
    return np.exp(-b[0] * x) / (b[1] + b[2] * x)


def _rise(b: Any, x: Any) -> Any:
    return b[0] * (1 - np.exp(-b[1] * x))


MODELS: dict[str, Callable[[Any, Any], Any]] = {
    "Bennett5": lambda b, x: b[0] * (b[1] + x) ** (-1 / b[2]),
    "BoxBOD": _rise,
    "Chwirut1": _chwirut,
    "Chwirut2": _chwirut,
    "DanWood": lambda b, x: b[0] * x ** b[1],
    "ENSO": _enso,
    "Eckerle4": lambda b, x: b[0] / b[1] * np.exp(-0.5 * ((x - b[2]) / b[1]) ** 2),
    "Gauss1": _gauss,
    "Gauss2": _gauss,
    "Gauss3": _gauss,
    "Hahn1": _cubics,
    "Kirby2": lambda b, x: (b[0] + b[1] * x + b[2] * x**2) / (1 + b[3] * x + b[4] * x**2),
    "Lanczos1": _lanczos,
    "Lanczos2": _lanczos,
    "Lanczos3": _lanczos,
    "MGH09": lambda b, x: b[0] * (x**2 + x * b[1]) / (x**2 + x * b[2] + b[3]),
    "MGH10": lambda b, x: b[0] * np.exp(b[1] / (x + b[2])),
    "MGH17": lambda b, x: b[0] + b[1] * np.exp(-x * b[3]) + b[2] * np.exp(-x * b[4]),
    "Misra1a": _rise,
    "Misra1b": lambda b, x: b[0] * (1 - (1 + b[1] * x / 2) ** (-2)),
    "Misra1c": lambda b, x: b[0] * (1 - (1 + 2 * b[1] * x) ** (-0.5)),
    "Misra1d": lambda b, x: b[0] * b[1] * x / (1 + b[1] * x),
    "Nelson": lambda b, x: b[0] - b[1] * x[:, 0] * np.exp(-b[2] * x[:, 1]),
    "Rat42": lambda b, x: b[0] / (1 + np.exp(b[1] - b[2] * x)),
    "Rat43": lambda b, x: b[0] / (1 + np.exp(b[1] - b[2] * x)) ** (1 / b[3]),
    "Roszman1": lambda b, x: b[0] - b[1] * x - np.arctan(b[2] / (x - b[3])) / PI,
    "Thurber": _cubics,
}


def digits(found: NDArray[np.float64], certified: NDArray[np.float64]) -> float:
    """Return the number of digits of the worst value that agree; at most the 11 certified."""
    gap = np.abs(found - certified) / np.abs(certified)
    return float(min(11.0, np.min(-np.log10(np.maximum(gap, 1e-16)))))

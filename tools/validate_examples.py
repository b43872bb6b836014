# SPDX-License-Identifier: MIT
"""Write ``docs/validation/examples.md``: published batch distillations beside their bands."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "reference"))
from examples_in_band import DRAWS, Example, examples

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs/validation/examples.md"

HEAD = f"""\
# Published examples and the bands of their prediction

Written by `tools/validate_examples.py`; `tests/reference/test_examples_in_band.py` holds every row.
Sources and what is from memory stand in `batch_cases.toml` and `batch_cases.json` beside the tests.
Each example is predicted as it is printed, with {DRAWS} draws and the uncertainties that a person's
own description would have; the band is from 5 to 95 %. A band that is only wide proves nothing, so
its width stands beside it. Units are % vol, or % of the charge where the row says so.

| source | what | printed | good to | predicted | band | width | inside |
|---|---|---|---|---|---|---|---|
"""

FOOT = """
"Good to" is how far the source itself can be read: a diagram, a coarse table, the word "about". The
row of Seader and Henley is the highest strength their four stages and partial condenser can reach;
the pair of compositions they print beside it is left out, as no equilibrium stage can deliver it.
The whisky rows are practice: a swan neck that returns about 5 % of the heat, known to a factor of
two, and a charge of 24 to 28 % vol.
"""


def row(one: Example) -> str:
    """Return one row of the table."""
    low, high = one.printed
    printed = f"{low:.1f}" if low == high else f"{low:.1f} to {high:.1f}"
    good = f"{one.rounding:.1f}" if one.rounding else "as printed"
    return (
        f"| {one.source} | {one.what} | {printed} | {good} | {one.typical:.1f} | "
        f"{one.low:.1f} to {one.high:.1f} | {one.width:.1f} | {'yes' if one.inside else 'no'} |\n"
    )


def main() -> None:
    """Write the page."""
    PAGE.write_text(HEAD + "".join(map(row, examples())) + FOOT, encoding="utf-8")
    print(f"written: {PAGE.relative_to(ROOT)}")


if __name__ == "__main__":
    main()

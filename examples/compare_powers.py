# SPDX-License-Identifier: MIT
"""Show what a lower power does to the hearts of the demo batch."""

from __future__ import annotations

import middlecut as mc

TEXT = mc.example_path("demo").read_text(encoding="utf-8")


def main() -> None:
    """Predict the demo at three settings and print one line each."""
    for percent in (75, 60, 50):
        text = TEXT.replace('power = "60 %"', f'power = "{percent} %"')
        spirit = mc.predict(mc.read_plan_text(text)).steps["spirit"]
        hearts = spirit.made["hearts"]
        print(
            f"{percent} % of full power: {hearts.volume * 1e3:.2f} L of hearts "
            f"at {hearts.strength * 100:.1f} % vol, {spirit.duration / 3600:.1f} h"
        )


if __name__ == "__main__":
    main()

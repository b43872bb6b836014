# SPDX-License-Identifier: MIT
"""Fit the heat capacity and latent heat of pure water and ethanol and write the table.

The values come from CoolProp (water: IAPWS-95; ethanol: Schroeder et al. 2014) along the
saturation line. The product reads only the coefficients.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

import CoolProp.CoolProp as coolprop
import numpy as np

TABLE = Path(__file__).parents[1] / "src/middlecut/liquid/tables/pure_heat.csv"
LOW, HIGH, DATUM = 273.16, 390.0, 293.15
CENTRE, WIDTH = 333.15, 60.0
DEGREE = 6


def saturated(name: str, prop: str, temperature: float, quality: int) -> float:
    """Return a property on the saturation line."""
    return float(coolprop.PropsSI(prop, "T", temperature, "Q", quality, name))


def main() -> None:
    """Fit, write the table and say how far the fits are off."""
    nodes = CENTRE + WIDTH * np.cos(np.pi * (np.arange(400) + 0.5) / 400)
    nodes = np.clip(nodes, LOW, HIGH)
    rows = ["substance,quantity,unit,c0,c1,c2,c3,c4,c5,c6,max_relative_error"]
    for name in ("Ethanol", "Water"):
        capacity = np.array([saturated(name, "Cpmolar", t, 0) for t in nodes])
        latent = np.array(
            [saturated(name, "Hmolar", t, 1) - saturated(name, "Hmolar", t, 0) for t in nodes]
        )
        for quantity, unit, values in (
            ("liquid_heat_capacity", "J/mol/K", capacity),
            ("latent_heat", "J/mol", latent),
        ):
            fit = np.polynomial.Polynomial.fit(
                nodes, values, DEGREE, domain=[CENTRE - WIDTH, CENTRE + WIDTH]
            )
            error = float(np.max(np.abs(fit(nodes) / values - 1.0)))
            coefficients = ",".join(f"{c:.12g}" for c in fit.coef)
            rows.append(f"{name.lower()},{quantity},{unit},{coefficients},{error:.1e}")
            print(name, quantity, f"{error:.1e}")
    TABLE.write_text("\n".join(rows) + "\n", encoding="utf-8")
    print("sha256", hashlib.sha256(TABLE.read_bytes()).hexdigest())


if __name__ == "__main__":
    main()

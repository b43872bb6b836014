# SPDX-License-Identifier: MIT
"""The shipped enthalpies against a literal transcription and against integrals of the sources."""

from __future__ import annotations

import mpmath
import pytest
from chemicals.heat_capacity import zabransky_dict_iso_p
from CoolProp.CoolProp import PropsSI
from scipy.integrate import quad

from middlecut.liquid import heat

# Written out again on purpose, so that a slip in the table shows.
H = (-1475.522454, 1221.704941, -3826.09059, 6995.331224, -1205.535167, -4390.511947)
C = (44.02901198, -17.68737268, 65.47612787, -40.67662532, -11.96798609)
E = (0.3789891962, -0.1626946334, -0.9558648857)


@pytest.mark.parametrize("x", [0.02, 0.15, 0.5, 0.8])
@pytest.mark.parametrize("temperature", [280.0, 298.15, 372.0])
def test_excess_enthalpy_term_by_term(x: float, temperature: float) -> None:
    d, t = mpmath.mpf(x) - (1 - mpmath.mpf(x)), mpmath.mpf(temperature) - mpmath.mpf("298.15")
    total = sum(h * d**k for k, h in enumerate(H))
    total += sum(c * t * d**k for k, c in enumerate(C))
    total += sum(e * t * t / 2 * d**k for k, e in enumerate(E))
    expected = float(mpmath.mpf(x) * (1 - mpmath.mpf(x)) * total)
    assert heat.excess_enthalpy(x, temperature) == pytest.approx(expected, rel=1e-11)


@pytest.mark.parametrize("temperature", [275.0, 310.0, 351.0, 377.0])
def test_liquid_enthalpies_are_the_integrals_of_the_sources(temperature: float) -> None:
    # Ethanol: Zábranský et al. as the chemicals library prints it; water: IAPWS-95. The fits are
    # good to 2e-5 of the heat capacity.
    ethanol, _ = quad(zabransky_dict_iso_p["64-17-5"].calculate, 293.15, temperature)
    water, _ = quad(lambda t: PropsSI("Cpmolar", "T", t, "Q", 0, "Water"), 293.15, temperature)
    assert heat.liquid_enthalpy(1.0, temperature) == pytest.approx(ethanol, rel=1e-5)
    assert heat.liquid_enthalpy(0.0, temperature) == pytest.approx(water, rel=3e-5)

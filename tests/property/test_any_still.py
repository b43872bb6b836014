# SPDX-License-Identifier: MIT
"""Whatever still, charge and cuts: a run either closes its accounts or is refused in words."""

from __future__ import annotations

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from middlecut.errors import InputError
from middlecut.liquid import alcoholometry, compounds
from middlecut.steps.columns import StillSource
from middlecut.steps.distil import distil
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.parameters import Cut, Distil, Take, Until
from middlecut.steps.still import Still

NAMES = compounds.volatile_names()


@st.composite
def stills(draw: st.DrawFn) -> Still:
    volume = draw(st.sampled_from([0.005, 0.03, 0.2]))
    power = draw(st.floats(300.0, 6000.0))
    share = st.sampled_from([0.0, 0.05, 0.2, 0.5])
    return Still(
        name="any",
        boiler_volume=volume,
        heater_power=power,
        stages=draw(st.sampled_from([0, 0, 1, 3, 8, 20])),
        stage_holdup=draw(st.sampled_from([0.0, 1e-6, 2e-5, 1e-4])),
        head_loss=draw(share) * power,
        boiler_loss=draw(st.sampled_from([0.0, 0.05])) * power,
        column_loss=draw(st.sampled_from([0.0, 0.03, 0.1, 0.3])) * power,
        coolant_duty=draw(st.sampled_from([0.0, 0.0, 0.3])) * power,
        reflux_ratio=draw(st.sampled_from([None, 0.0, 1.0, 20.0])),
        head_holdup=draw(st.sampled_from([0.0, 2e-6, 1e-4])),
        drains_back=draw(st.booleans()),
        column_diameter=0.05,
        element_covered_above=0.2 * volume,
    )


@st.composite
def runs(draw: st.DrawFn, volume: float) -> Distil:
    cuts = draw(
        st.sampled_from(
            [
                (Cut("a", Until(strength=0.001)),),
                (Cut("a", Until(strength=0.1)),),
                (
                    Cut("a", Until(volume=0.02 * volume)),
                    Cut("b", Until(strength=0.3), jar_volume=0.03 * volume),
                    Cut("c", Until(head_temperature=369.0)),
                ),
                (Cut("a", Until(time=600.0)), Cut("b", Until(boiler_volume=0.1 * volume))),
                # jars on cuts by time and by volume; a last jar that is not full
                (
                    Cut("a", Until(time=900.0), jar_volume=0.002 * volume),
                    Cut("b", Until(volume=0.05 * volume), jar_volume=0.012 * volume),
                    Cut("c", Until(time=7200.0), jar_volume=0.1 * volume),
                ),
                # one cut by time alone, which may stall before it ends
                (Cut("a", Until(time=36000.0)),),
                (Cut("a", Until(time=1800.0), jar_volume=1e-3 * volume),),
                (Cut("a", Until(volume=0.3 * volume), jar_volume=0.1 * volume),),
            ]
        )
    )
    return Distil(
        id="run",
        takes=(Take("charge"),),
        still="any",
        purpose="spirit",
        cuts=cuts,
        residue="rest",
        power=draw(st.sampled_from([0.3, 0.6, 1.0])),
        total_reflux=draw(st.sampled_from([0.0, 0.0, 600.0])),
    )


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_a_run_closes_or_is_refused_in_words(data: st.DataObject) -> None:
    still = data.draw(stills())
    parameters = data.draw(runs(still.boiler_volume))
    w = alcoholometry.mass_fraction_from_strength(
        data.draw(st.sampled_from([0.01, 0.08, 0.28, 0.6, 0.95]))
    )
    fill = data.draw(st.floats(0.1, 0.8)) * still.boiler_volume
    mass = fill * alcoholometry.density_20(w)
    held = data.draw(st.lists(st.sampled_from(NAMES), max_size=12, unique=True))
    amounts = {name: Amount(1e-4, 5e-5, 2e-4, "memory") for name in held}
    charge = Lot("charge", water=mass * (1 - w), ethanol=mass * w, solids=0.1, amounts=amounts)
    place = data.draw(st.sampled_from(["none", "charge", "basket"]))
    sources: tuple[StillSource, ...] = ()
    if place != "none":
        sources = tuple(
            StillSource("peel", name, Amount(1e-4, 1e-4, 1e-4), 0.7, 1e-3, place)  # type: ignore[arg-type]
            for name in data.draw(st.lists(st.sampled_from(NAMES), min_size=1, max_size=3))
        )
    refusal = None
    result = None
    try:
        result = distil(
            parameters,
            (charge,),
            still=still,
            pressure=data.draw(st.floats(61e3, 109e3)),
            sources=sources,
            bed_liquid=0.01 * still.boiler_volume if place == "basket" else 0.0,
        )
    except InputError as error:
        refusal = error
    if result is None:
        assert refusal is not None
        assert refusal.allowed
        assert refusal.remedy
        return
    assert max(abs(entry.gap) for entry in result.account.entries.values()) < 1e-9
    lots = result.made.values()
    assert all(amount.typical >= 0.0 for lot in lots for amount in lot.amounts.values())
    assert result.curve is not None
    assert np.isfinite(result.curve.strength).all()
    # Nothing distils above the azeotrope unless it was loaded above it.
    assert result.curve.strength.max() < 0.975
    assert (np.diff(result.curve.time) >= 0.0).all()
    assert (np.diff(result.curve.volume) >= -1e-9).all()
    # What a cut holds is what its jars hold: pure alcohol adds up, volumes shrink when mixed.
    jars = sum(jar.volume * jar.strength for jar in result.curve.jars)
    filled = {jar.cut for jar in result.curve.jars}
    whole = sum(cut.volume * cut.strength for cut in result.curve.cuts if cut.into in filled)
    assert abs(jars - whole) <= 2e-3 * whole + 1e-12
    assert result.energy > 0.0
    assert result.cooling_water > 0.0

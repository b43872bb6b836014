# SPDX-License-Identifier: MIT
"""A jar scaled to a batch: round trips, geometry by hand, refusals."""

from __future__ import annotations

import json
import math

import pytest

from middlecut.errors import InputError, NotFoundError, OutOfRangeError
from middlecut.steps.wood_sample import JarSample, scale_sample

DAY = 86400.0
JAR = JarSample(volume=0.2e-3, form="chips", duration=14 * DAY, mass=2e-3)


@pytest.mark.parametrize("form", ["staves", "cubes", "chips", "shavings"])
def test_a_sample_scaled_to_itself(form: str) -> None:
    jar = JarSample(volume=0.2e-3, form=form, duration=400 * DAY, mass=2e-3)
    same = scale_sample(jar, jar.volume)
    assert same.mass == pytest.approx(2e-3, rel=1e-12)
    assert (same.duration, same.duration_low, same.duration_high) == (jar.duration,) * 3
    assert same.area_per_volume == same.sample_area_per_volume
    assert same.basis == "computed"


def test_there_and_back_again() -> None:
    there = scale_sample(JAR, 6e-3, form="cubes")
    assert there.duration is not None
    jar = JarSample(volume=6e-3, form="cubes", duration=there.duration, mass=there.mass)
    back = scale_sample(jar, 0.2e-3, form="chips")
    assert back.mass == pytest.approx(2e-3, rel=1e-12)
    assert back.duration == pytest.approx(14 * DAY, rel=1e-9)  # the search stops at 1e-12


def test_weight_does_not_scale_across_forms() -> None:
    # Equal area: chips of 10 x 5 x 3 mm have 19.49 cm²/g, cubes of 10 mm 9.23 (computed elsewhere).
    there = scale_sample(JAR, 6e-3, form="cubes")
    assert there.mass == pytest.approx(60e-3 * 19.49 / 9.23, rel=1e-3)
    assert there.area == pytest.approx(6.0 * 10.0 * 19.49e-4, rel=1e-3)
    assert there.basis == "estimate"


def test_time_by_hand_for_cubes() -> None:
    # Chips: all of 10 g/L takes part, 1 - exp(-0.14·14) is out. Cubes at equal area: 21.11 g/L, of
    # which 1 - 0.4³ takes part, at 0.032 a day.
    there = scale_sample(JAR, 6e-3, form="cubes")
    share = 10.0 * (1 - math.exp(-1.96)) / (10.0 * 19.487 / 9.231 * 0.936)
    assert there.duration is not None
    assert there.duration / DAY == pytest.approx(-math.log(1 - share) / 0.032, rel=1e-3)


def test_a_cask_has_the_area_of_its_size() -> None:
    there = scale_sample(JAR, 6e-3, form="cask", cask_volume=0.02)
    assert there.area_per_volume == pytest.approx(19.5, rel=0.01)  # 194 cm²/L, computed elsewhere
    assert there.mass is None
    assert any("Evaporation" in text for text in there.does_not_scale)


def test_too_little_wood_is_said() -> None:
    there = scale_sample(JAR, 6e-3, form="shavings")
    assert there.duration is None
    assert there.duration_low is None


def test_warmer_is_quicker() -> None:
    there = scale_sample(JAR, 6e-3, temperature=303.15)
    assert there.duration is not None
    assert there.duration_low is not None
    assert there.duration_high is not None
    assert there.duration_low < there.duration < there.duration_high < 14 * DAY
    assert any("Temperature" in text for text in there.does_not_scale)


def test_other_pieces_of_the_same_form() -> None:
    there = scale_sample(JAR, 6e-3, piece=(0.01, 0.01, 0.003))
    assert there.mass != pytest.approx(60e-3, rel=0.05)
    assert there.basis == "estimate"


def test_area_and_mass_say_the_same() -> None:
    area = scale_sample(JAR, 1e-3).sample_area_per_volume * JAR.volume
    jar = JarSample(volume=0.2e-3, form="chips", duration=14 * DAY, area=area)
    assert scale_sample(jar, 6e-3).mass == pytest.approx(60e-3, rel=1e-12)


def test_what_does_not_scale_is_always_said() -> None:
    for form in ("chips", "cask"):
        there = scale_sample(JAR, 6e-3, form=form)
        text = " ".join(there.does_not_scale)
        assert all(word in text for word in ("Evaporation", "oxygen", "surface", "Weight"))
    assert json.loads(json.dumps(there.to_dict()))["area_m2"] == there.area


def test_surface_of_the_vessel() -> None:
    # 27 times the volume, a third of the surface for each litre.
    text = " ".join(scale_sample(JAR, 27 * 0.2e-3).does_not_scale)
    assert "0.33 times the surface" in text


@pytest.mark.parametrize(
    ("jar", "match"),
    [
        (JarSample(0.2e-3, "chips", DAY), "exactly one"),
        (JarSample(0.2e-3, "chips", DAY, mass=1e-3, area=1e-3), "exactly one"),
        (JarSample(0.2e-3, "chips", DAY, mass=0.0), "needs some wood"),
        (JarSample(0.2e-3, "cask", DAY, mass=1e-3), "pieces of wood"),
    ],
)
def test_unusable_jars(jar: JarSample, match: str) -> None:
    with pytest.raises(InputError, match=match):
        scale_sample(jar, 6e-3)


def test_unusable_batches() -> None:
    with pytest.raises(InputError, match="does not go in"):
        scale_sample(JAR, 6e-3, form="cask", cask_volume=5e-3)
    with pytest.raises(InputError, match="no pieces"):
        scale_sample(JAR, 6e-3, form="cask", piece=(0.01, 0.01, 0.01))
    with pytest.raises(InputError, match="cask only"):
        scale_sample(JAR, 6e-3, cask_volume=0.02)
    with pytest.raises(NotFoundError):
        scale_sample(JAR, 6e-3, form="planks")
    with pytest.raises(OutOfRangeError):
        scale_sample(JAR, math.nan)

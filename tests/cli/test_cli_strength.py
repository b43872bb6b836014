# SPDX-License-Identifier: MIT
"""``middlecut strength`` and ``middlecut dilute``: right numbers, right sentences."""

from __future__ import annotations

import json
from typing import Any

import pytest

from middlecut.liquid import alcoholometry


def values(text: str) -> dict[str, float]:
    read: dict[str, Any] = json.loads(text)
    return {key: line["value"] for key, line in read["values"].items()}


def test_strength_on_every_scale(run: Any) -> None:
    # 40 % vol is 33.30 % by mass and weighs 948.05 kg/m³ at 20 °C: OIML R 22, table of 1975.
    done = run("strength", "40 %vol", "--json")
    assert done.code == 0
    found = values(done.out)
    assert found["mass_fraction"] == pytest.approx(0.3330, abs=0.00005)
    assert found["density"] == pytest.approx(948.05, abs=0.02)
    # 80 proof is 40 % by volume at 60 °F; at 20 °C it differs by a few hundredths.
    assert found["proof"] == pytest.approx(80.0, abs=0.2)


def test_a_warm_reading_is_corrected(run: Any) -> None:
    # Same numbers as the library's own example, which rests on directive 76/766.
    found = values(run("strength", "40 %vol", "--reading-at", "30 °C", "--json").out)
    assert found["strength"] == pytest.approx(0.360, abs=0.0005)
    back = values(run("strength", "36 %vol", "--at", "30 °C", "--json").out)
    assert back["reading_20c"] == pytest.approx(0.40, abs=0.0005)


@pytest.mark.parametrize("same", ["124.8 proof", "124,8 proof", "124.8 °proof"])
def test_proof_readings_take_fahrenheit_and_comma(run: Any, same: str) -> None:
    done = run("strength", same, "--reading-at", "60 °F", "--json")
    assert values(done.out)["proof"] == pytest.approx(124.8, abs=1e-6)


def test_a_density_becomes_a_strength_and_back(run: Any) -> None:
    found = values(run("strength", "948.05 kg/m3", "--json").out)
    assert found["strength"] == pytest.approx(0.40, abs=0.0002)
    warm = values(run("strength", "40 %vol", "--at", "15 °C", "--json").out)
    again = run("strength", f"{warm['density']:.6f} kg/m3", "--reading-at", "15 °C", "--json")
    assert values(again.out)["strength"] == pytest.approx(0.40, abs=1e-6)


def test_dissolved_solids_hide_strength(run: Any) -> None:
    plain = values(run("strength", "930 kg/m3", "--json").out)["strength"]
    sweet = values(run("strength", "930 kg/m3", "--dissolved", "1 g/L", "--json").out)["strength"]
    # One gram per litre hides about 0.2 % vol near 50 % vol (OIV-MA-AS2-03B).
    assert sweet - plain == pytest.approx(0.002, abs=0.0003)


def test_a_gravity_gives_plato_and_the_wash(run: Any) -> None:
    done = run("strength", "1.048 SG", "--final-gravity", "1.010 SG", "--json")
    found = values(done.out)
    # ASBC table: 1.048 is 11.91 °P. Balling gives close to 5.0 % vol for 1.048 to 1.010.
    assert found["plato"] * 100 == pytest.approx(11.91, abs=0.02)
    assert found["strength"] == pytest.approx(0.050, abs=0.001)


def test_a_warm_hydrometer_reads_low(run: Any) -> None:
    found = values(run("strength", "1.012 SG", "--reading-at", "30 °C", "--json").out)
    assert 1.0135 < found["gravity"] < 1.0155


def test_text_lists_one_scale_a_line(run: Any) -> None:
    out = run("strength", "62.4 %vol").out
    assert "%mass" in out
    assert "proof" in out
    assert "kg/m3" in out
    assert "\033[" not in out


def test_us_units(run: Any) -> None:
    out = run("dilute", "1 gal_us", "126 proof", "--to", "92 proof", "--units", "us").out
    assert "lb" in out
    assert "US gal" in out


def test_dilution_is_by_mass(run: Any) -> None:
    found = values(run("dilute", "2.4 L", "63 %vol", "--to", "46 %vol", "--json").out)
    # Pure alcohol stays: 2.4 L x 63 % = 1.512 L, and 1.512 L / 46 % = 3.28696 L.
    assert found["volume"] == pytest.approx(3.28696e-3, rel=1e-5)
    # More water than the difference of the volumes, because of contraction.
    assert found["water_volume"] > found["volume"] - 2.4e-3 + 2e-5


def test_stages_add_up(run: Any) -> None:
    words = ("dilute", "2.4 L", "63 %vol", "--to", "46 %vol", "--json")
    one = values(run(*words).out)
    four = values(run(*words, "--additions", "4").out)
    parts = [four[f"stage_{number}_water_mass"] for number in range(1, 5)]
    assert sum(parts) == pytest.approx(one["water_mass"], rel=1e-9)
    strengths = [four[f"stage_{number}_strength"] for number in range(1, 5)]
    assert strengths == sorted(strengths, reverse=True)
    assert strengths[-1] == pytest.approx(0.46, abs=1e-9)


def test_warm_water_takes_more_room(run: Any) -> None:
    words = ("dilute", "2.4 L", "63 %vol", "--to", "46 %vol", "--json")
    cold = values(run(*words, "--water-temperature", "5 °C").out)
    warm = values(run(*words, "--water-temperature", "35 °C").out)
    assert cold["water_mass"] == warm["water_mass"]
    # Water at 35 °C against 5 °C: 994.03 and 999.97 kg/m³, 0.6 %.
    assert warm["water_volume"] / cold["water_volume"] == pytest.approx(1.0060, abs=0.0002)


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("strength", "62"), "unit"),
        (("strength", "62 kg"), "strength"),
        (("strength", "120 %vol"), "0 to 100"),
        (("strength", "-5 %vol"), "VALUE: '−5 %vol'"),
        (("strength", "nonsense"), "VALUE"),
        (("strength", ""), "VALUE"),
        (("strength", "nan %vol"), "VALUE"),
        (("strength", "1e999 %vol"), "VALUE"),
        (("strength", "62 %vol", "--reading-at", "90 °C"), "range"),
        (("strength", "62 %vol", "--reading-at", "27"), "unit"),
        (("strength", "62 %mass", "--reading-at", "27 °C"), "by mass"),
        (("strength", "62 %vol", "--reference", "60F"), "--reading-at"),
        (("strength", "62 %vol", "--final-gravity", "1.0 SG"), "gravity"),
        (("strength", "1.012 SG", "--final-gravity", "1.060 SG"), "below"),
        (("strength", "1.012 SG", "--dissolved", "3 g/L"), "dissolved"),
        (("strength", "300 kg/m3"), "range"),
        (("dilute", "2.4 L", "63 %vol", "--to", "70 %vol"), "--to"),
        (("dilute", "2.4 L", "63 %vol", "--to", "0 %vol"), "--to"),
        (("dilute", "2.4", "63 %vol", "--to", "46 %vol"), "unit"),
        (("dilute", "-1 L", "63 %vol", "--to", "46 %vol"), "AMOUNT: '−1 L'"),
        (
            ("dilute", "2.4 L", "63 %vol", "--to", "46 %vol", "--water-temperature", "80 °C"),
            "range",
        ),
    ],
)
def test_unusable_input_is_refused_in_a_sentence(
    run: Any, words: tuple[str, ...], named: str
) -> None:
    done = run(*words)
    assert done.code == 2
    assert done.out == ""
    assert named in done.err
    assert "Traceback" not in done.err
    assert "fault" not in done.err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        # Ranges in the unit of the one who asks, under the option they gave.
        (("strength", "40 %vol", "--reading-at", "60 °C"),
         "--reading-at: '60 °C' is not usable; the range is -20 to 40 °C"),
        (("strength", "40 %vol", "--at", "90 °F"), "strength by volume"),
        (("strength", "40 %vol", "--at", "60 °C"), "--at: '60 °C' is not usable"),
        (("strength", "1.062 SG", "--reading-at", "60 °C"), "the range is 0 to 40 °C"),
        (("strength", "1.062 SG", "--final-gravity", "-9 °P"), "--final-gravity: '-9 °P'"),
        (("strength", "700 kg/m3"), "the range is 789.24 to 998.2 kg/m3"),
        (("strength", "40 %vol", "--reading-at", "20 °C", "--dissolved", "900 g/L"),
         "--dissolved: '900 g/L' is not usable; the range is 0 to 400 g/L"),
        # A minus sign begins a value, not an option.
        (("strength", "-3 %vol"), "VALUE: '−3 %vol' is not usable; the range is 0 to 100 %"),
        (("strength", "--json", "-3 %vol"), "VALUE: '−3 %vol' is not usable"),
        (("dilute", "-2 L", "60 %vol", "--to", "40 %vol"), "there has to be some spirit"),
        (("dilute", "2 L", "60 %vol", "--to", "-3 %vol"), "--to: '-3 %vol' is not usable"),
        (("dilute", "2 L", "60 %vol", "--to", "0 %vol"), "no amount of water takes all"),
        (("dilute", "2 L", "60 %vol", "--to", "60 %vol"), "water only lowers a strength"),
        (("dilute", "2 L", "60 %vol", "--to", "40 %vol", "--water-temperature", "50 °C"),
         "--water-temperature: '50 °C' is not usable"),
        (("strength", "40 %vol", "--typo"), "No such option: --typo"),
    ],
)  # fmt: skip
def test_a_value_out_of_range_is_told_as_it_was_written(
    run: Any, words: tuple[str, ...], told: str
) -> None:
    outcome = run(*words)
    assert told in outcome.err + outcome.out
    assert outcome.code == (0 if "90 °F" in words else 2)


def test_a_negative_option_keeps_its_sign(run: Any) -> None:
    outcome = run("strength", "40 %vol", "--at", "-5 °C")
    assert outcome.code == 0
    assert "density at -5.0 °C" in outcome.out


@pytest.mark.parametrize("value", ["1.070", "0.998", "1,062"])
def test_a_bare_gravity_is_asked_for_its_unit(run: Any, value: str) -> None:
    done = run("strength", value)
    assert done.code == 2
    assert f'write "{value} SG"' in done.err


def test_a_bare_per_cent_is_asked_of_what(run: Any) -> None:
    done = run("strength", "43%")
    assert done.code == 2
    assert '"43 %mass" if it is by mass' in done.err


def test_a_quantity_needs_no_quotes(run: Any) -> None:
    quoted = run("dilute", "2.4 L", "63 %vol", "--to", "46 %vol", "--additions", "2")
    bare = run("dilute", "2.4", "L", "63", "%", "vol", "--to", "46", "%vol", "--additions", "2")
    assert quoted.code == 0
    assert bare == quoted
    assert (
        run("strength", "62", "abv").out.splitlines()[1:]
        == (run("strength", "62 %vol").out.splitlines()[1:])
    )
    assert run("strength", "912.3", "kg/m3").code == 0
    assert "several words goes in quotes" in run("strength", "62", "vol").err
    lone = run("strength", "62", "%")
    assert '"62 %vol" if it is by volume, "62 %mass" if it is by mass' in lone.err
    assert '"1 gal_us" or "1 gal_imp"' in run("dilute", "1", "gal", "62 %vol", "--to", "9 %vol").err
    assert '"1 qt_us" or "1 qt_imp"' in run("dilute", "1 qt", "62 %vol", "--to", "9 %vol").err


def test_a_warm_reading_is_diluted_as_the_strength_command_corrects_it(run: Any) -> None:
    true = values(run("strength", "66 %vol", "--reading-at", "28 °C", "--json").out)["strength"]
    words = ("dilute", "2.4 L", "66 %vol", "--reading-at", "28 °C", "--to", "46 %vol", "--json")
    found = values(run(*words).out)
    assert found["strength"] == pytest.approx(true, abs=1e-12)
    # Pure alcohol stays, whatever the instrument showed.
    assert found["volume"] == pytest.approx(2.4e-3 * true / 0.46, rel=1e-6)
    proof = values(
        run("dilute", "1 gal_us", "126 proof", "--reading-at", "80 °F", "--to", "80 proof",
            "--json").out)  # fmt: skip
    at_60f = float(alcoholometry.true_proof(126.0, 80.0))
    assert proof["strength"] == pytest.approx(
        float(alcoholometry.strength_from_proof(at_60f)), abs=1e-9
    )


def test_warm_litres_are_fewer_at_20_degrees(run: Any) -> None:
    words = ("dilute", "2.4 L", "63 %vol", "--to", "46 %vol", "--json")
    found = values(run(*words, "--volume-at", "30 °C").out)
    w = float(alcoholometry.mass_fraction_from_strength(0.63))
    ratio = float(alcoholometry.density(w, 303.15)) / float(alcoholometry.density(w, 293.15))
    assert ratio < 0.995  # about 0.9 % for ten degrees
    assert found["volume_20"] == pytest.approx(2.4e-3 * ratio, rel=1e-6)
    assert found["volume"] == pytest.approx(2.4e-3 * ratio * 0.63 / 0.46, rel=1e-5)


def test_a_spirit_may_be_weighed(run: Any) -> None:
    found = values(run("dilute", "2.2 kg", "63 %vol", "--to", "46 %vol", "--json").out)
    w = float(alcoholometry.mass_fraction_from_strength(0.63))
    target = float(alcoholometry.mass_fraction_from_strength(0.46))
    assert found["volume_20"] == pytest.approx(2.2 / float(alcoholometry.density_20(w)), rel=1e-9)
    # Alcohol by mass stays: 2.2 w = (2.2 + water) w'.
    assert found["water_mass"] == pytest.approx(2.2 * (w / target - 1.0), rel=1e-9)
    assert found["mass"] == pytest.approx(2.2 + found["water_mass"], rel=1e-12)


def test_us_dilution_is_told_in_proof_with_per_cent_beside(run: Any) -> None:
    done = run("dilute", "1 gal_us", "126 proof", "--to", "92 proof", "--additions", "2",
               "--units", "us")  # fmt: skip
    assert "at 126.0 proof (63.0" in done.out
    assert "then it has" in done.out
    for line in done.out.splitlines():
        assert ("%vol" in line) == ("proof (" in line)
    assert "qt" not in done.out


def test_measures_that_do_not_go_together_are_refused(run: Any) -> None:
    for words, told in (
        (("2.2 kg", "63 %vol", "--volume-at", "28 °C"), "2.2 kg is a weight"),
        (("2.2 L", "63 %mass", "--reading-at", "28 °C"), "by mass"),
        (("2.2 L", "63 %vol", "--reference", "60F"), "--reading-at only"),
        (("2.2 L", "63 %vol", "--reading-at", "58 °C"), "--reading-at: '58 °C'"),
        (("2.2 L", "63 %vol", "--volume-at", "58 °C"), "--volume-at: '58 °C'"),
        (("0 kg", "63 %vol"), "there has to be some spirit"),
        (("2.2 L", "47 %vol", "--reading-at", "30 °C"), "and this one is 43."),
    ):
        done = run("dilute", *words, "--to", "46 %vol")
        assert done.code == 2
        assert told in done.err, done.err

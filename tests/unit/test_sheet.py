# SPDX-License-Identifier: MIT
"""The sheet and its renderings: units, alignment, nothing lost."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace

import pytest

from middlecut.errors import InputError
from middlecut.plan.model import Batch, Plan
from middlecut.plan.predict import predict
from middlecut.plan.render import render_csv, render_markdown, render_text
from middlecut.plan.render_units import shown_figure, warned
from middlecut.plan.scaling import split_charges
from middlecut.plan.sheet import Column, Sheet, make_sheet
from middlecut.plan.text_table import lay_out
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import (
    Blend,
    Bottle,
    Cut,
    Dilute,
    Distil,
    Draw,
    Ferment,
    Take,
    Until,
)
from middlecut.steps.result import Figure
from middlecut.steps.still import Still

STILL = Still(
    "copper {one}", boiler_volume=0.030, heater_power=2400.0, head_loss=80.0, condenser_duty=1500.0,
    reflux_ratio=0.0,
)  # fmt: skip


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    plan = Plan(
        "shed.toml",
        Batch("Trial | one", currency="EUR", energy_price=1e-7),
        (
            Ferment("ferment", "wash {a}", 0.020, 1.060, 1.008, 295.15, 5e5, lees=0.002),
            Distil("strip", (Take("wash {a}"),), "copper {one}", "strip",
                   (Cut("low wines", Until(strength=0.08)),), "stillage", water=1.0),
            Distil("spirit", (Take("low wines"),), "copper {one}", "spirit",
                   (Cut("heads", Until(volume=1e-4)),
                    Cut("hearts", Until(strength=0.55), jar_volume=3e-4)), "rest", power=0.6,
                   total_reflux=600.0),
            Draw("aside", Take("hearts", volume=2e-4), "kept"),
            Blend("marry", (Take("hearts"), Take("kept")), "spirit"),
            Dilute("reduce", Take("spirit"), 0.43, "ready", additions=2),
            Bottle("fill", Take("ready"), "bottles", 0.25e-3, 0.43),
        ),
        {"copper {one}": STILL},
    )  # fmt: skip
    return make_sheet(predict(plan))


def test_one_section_a_step_in_order(sheet: Sheet) -> None:
    assert [section.step_id for section in sheet.sections] == [
        "ferment", "strip", "spirit", "aside", "marry", "reduce", "fill",
    ]  # fmt: skip
    assert all(section.phrases and section.figures for section in sheet.sections)


def test_the_look_for_table_has_each_cut(sheet: Sheet) -> None:
    table = next(t for t in sheet.sections[2].tables if t.title == "What to look for")
    assert [row[0] for row in table.rows] == ["first drops", "heads ends", "hearts ends"]
    strength = table.rows[2][3]
    assert strength == pytest.approx(0.55, abs=1e-6)  # the cut ends at 55 %vol by the plan


def test_jars_are_listed(sheet: Sheet) -> None:
    jars = next(t for t in sheet.sections[2].tables if t.title == "Jars to expect")
    assert len(jars.rows) >= 2
    assert all(row[1] == "hearts" for row in jars.rows)


def test_shares_of_a_compound_add_up(sheet: Sheet) -> None:
    table = next(t for t in sheet.sections[1].tables if t.title == "Where the main congeners go")
    for row in table.rows:
        assert sum(cell for cell in row[1:] if isinstance(cell, float)) == pytest.approx(
            1.0, abs=1e-9
        )


def test_notes_every_run_has_are_said_once(sheet: Sheet) -> None:
    codes = [caution.code for section in sheet.sections for caution in section.cautions]
    assert codes.count("cooling-lost") == 1
    assert codes.count("condenser-overload") >= 1


def test_dangers_are_announced(sheet: Sheet) -> None:
    text = render_text(sheet)
    summary = " ".join(text.split("1. ", 1)[0].split())
    steps = [s.step_id for s in sheet.sections if any(c.severity == "danger" for c in s.cautions)]
    assert f"to mend before you start, in {', '.join(steps)}." in summary
    assert text.count("DANGER") == sum(
        caution.severity == "danger" for s in sheet.sections for caution in s.cautions
    )


@pytest.mark.parametrize("width", [60, 72, 88, 100, 200])
@pytest.mark.parametrize("system", ["metric", "us"])
def test_no_line_is_wider_than_asked(sheet: Sheet, width: int, system: str) -> None:
    text = render_text(sheet, width=width, system=system)  # type: ignore[arg-type]
    assert max(map(len, text.splitlines())) <= min(width, 100)
    assert text.endswith("\n")


def test_a_screen_too_narrow_is_refused(sheet: Sheet) -> None:
    with pytest.raises(InputError, match="width"):
        render_text(sheet, width=40)


def test_text_names_amounts_in_plain_words(sheet: Sheet) -> None:
    text = render_text(sheet)
    assert "Pitch 20.0 L of wort at 1.060 SG and keep it at 22.0 °C." in " ".join(text.split())
    assert "Not in these numbers" in text
    assert "Where numbers come from" in text
    assert "None" not in text
    assert "nan" not in text.split()


def test_us_units_change_every_metric_volume_of_the_phrases(sheet: Sheet) -> None:
    text = " ".join(render_text(sheet, system="us").split())
    assert "Pitch 5.28 US gal of wort at 1.060 SG and keep it at 71.6 °F." in text


def test_us_strengths_are_in_proof_and_beside_percent_in_sentences(sheet: Sheet) -> None:
    text = render_text(sheet, system="us")
    said, table = text.split("What you have then", 1)
    assert re.search(r"\d %vol \(\d+\.\d proof\)", said)
    assert " proof" in table
    assert "strengths are in proof" in " ".join(said.split())
    metric = render_text(sheet)
    assert "proof" not in metric


def test_us_sheets_weigh_compounds_in_grams_and_less(sheet: Sheet) -> None:
    account = render_text(sheet, system="us").split("Account of the main congeners", 1)[1]
    rows = account.split("Account of", 1)[0].split("Always", 1)[0].splitlines()
    assert any(re.search(r"\d (g|mg|µg)  ", row) for row in rows)
    assert not any(" oz" in row or " lb" in row for row in rows)


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        ("charge 54 °C, wash 30 °C", "charge 54 °C (129 °F), wash 30 °C (86 °F)"),
        ("suffer above 34 to 36 °C here", "suffer above 34 to 36 °C (93 to 97 °F) here"),
        ("at -5.5 °C", "at -5.5 °C (22 °F)"),
        ("warmer by 5 °C", "warmer by 5 °C"),  # a difference is no temperature
    ],
)
def test_cautions_give_fahrenheit_beside_celsius(metric: str, us: str) -> None:
    # 0 °C is 32 °F and 100 °C is 212 °F, by definition.
    assert warned(metric, "us") == us
    assert warned(metric, "metric") == metric


def test_cautions_give_us_rates_beside_metric_ones() -> None:
    # 1 US fl oz is 29.573 53 mL and 1 cu ft is 0.028 316 847 m³ (NIST Handbook 44, appendix C).
    assert warned("at 2.88 L/h", "us") == "at 2.88 L/h (97.4 US fl oz/h)"
    assert warned("(3.6 m³/h at", "us") == "(3.6 m³/h (127 cu ft/h) at"
    assert warned("3.6 m³ of air", "us") == "3.6 m³ (127 cu ft) of air"
    assert warned("5 L/kg", "us") == "5 L/kg"


def test_a_contraction_nobody_can_measure_is_not_spelt_out() -> None:
    def say(value: float, key: str = "contraction") -> tuple[str, str]:
        figure = Figure(key, "contraction", value, "volume")
        return shown_figure(figure, "metric"), shown_figure(figure, "us")

    assert say(4e-7) == ("under 1 mL", "under 0.1 US fl oz")
    assert say(0.0) == ("0 L", "0 US gal")
    assert say(37.7e-6) == ("37.7 mL", "1.27 US fl oz")
    assert say(4e-7, "loss")[0] == "0.400 mL"


@pytest.mark.parametrize("stages", [0.3, 2.4])
def test_stages_are_shown_with_their_part(stages: float) -> None:
    still = replace(STILL, name="pot", stages=stages)
    run = Distil("run", (Take("wine"),), "pot", "spirit",
                 (Cut("hearts", Until(strength=0.4)),), "rest")  # fmt: skip
    wine = Lot("wine", water=9.0, ethanol=1.5)
    made = make_sheet(predict(Plan("p", Batch("b"), (run,), {"pot": still}, (wine,))))
    figure = next(one for one in made.sections[0].figures if one.key == "stages")
    assert figure.value == stages
    assert re.search(rf"equilibrium stages +{stages}", render_text(made))


def test_nothing_is_told_that_takes_no_time(sheet: Sheet) -> None:
    text = " ".join(render_text(sheet).split())
    assert "Expect 1.008 SG after 5.79 d." in text
    assert "to clear" not in text
    assert "into the still copper (one)." in text
    assert "stripping run in the still copper" in text


def test_a_dilution_gives_no_temperature_it_does_not_know(sheet: Sheet) -> None:
    # The heat of mixing is left out, so the mean of the two temperatures would be untrue.
    reduce = next(one for one in sheet.sections if one.step_id == "reduce")
    marry = next(one for one in sheet.sections if one.step_id == "marry")
    for section in (reduce, marry):
        assert "temperature" not in {figure.key for figure in section.figures}
    assert "Mixing warms it, often by a few kelvin: let it come back to 20.0 °C" in " ".join(
        render_text(sheet).split()
    )


def test_what_every_charge_has_to_watch_is_said_at_the_first() -> None:
    wine = Lot("wine", water=45.0, ethanol=2.0, solids=1.0)
    run = Distil("run", (Take("wine"),), "pot", "strip",
                 (Cut("low wines", Until(strength=0.05)),), "rest")  # fmt: skip
    still = replace(STILL, name="pot", element_covered_above=0.019)
    plan, charges, _ = split_charges(Plan("p", Batch("b"), (run,), {"pot": still}, (wine,)))
    assert charges == {"run": 3}
    made = make_sheet(predict(plan))
    first, second, third = (one for one in made.sections if one.kind == "distil")
    assert "foam" in {one.code for one in first.cautions}
    for later in (second, third):
        codes = [one.code for one in later.cautions]
        assert "foam" not in codes
        assert codes.count("as-in-first-charge") == 1
        assert "element-uncovered" in codes  # a danger stays at every charge
    assert render_text(made).count("A wash may foam") == 1
    assert "As in run-charge-1" in render_text(made)


def test_what_holds_for_every_wash_is_said_once() -> None:
    washes = tuple(
        Ferment(f"ferment-{n}", f"wash {n}", 0.020, 1.060, 1.008, 295.15, 5e5) for n in (1, 2)
    )
    made = make_sheet(predict(Plan("p", Batch("b"), washes, {})))
    assert "off the lees. " in " ".join(render_text(made).split())  # none are left behind
    codes = [caution.code for section in made.sections for caution in section.cautions]
    assert codes.count("ferment-time-prior") == 1
    assert codes.count("co2") == 1


def test_curly_names_do_not_break_sentences(sheet: Sheet) -> None:
    assert "wash (a)" in render_text(sheet)


def test_markdown_has_a_heading_a_step_and_sound_tables(sheet: Sheet) -> None:
    text = render_markdown(sheet)
    assert text.startswith("# Trial \\| one\n")
    assert sum(line.startswith("## ") for line in text.splitlines()) == 7 + 4
    runs: list[list[str]] = [[]]
    for line in text.splitlines():
        if line.startswith("|"):
            runs[-1].append(line)
        elif runs[-1]:
            runs.append([])
    for table in filter(None, runs):
        assert len({line.replace("\\|", "").count("|") for line in table}) == 1


def test_csv_has_long_rows_with_unit_and_basis(sheet: Sheet) -> None:
    rows = list(csv.DictReader(io.StringIO(render_csv(sheet))))
    assert set(rows[0]) == {"step", "key", "value", "unit", "low", "high", "basis"}
    gravity = next(row for row in rows if row["step"] == "ferment" and row["key"] == "gravity")
    assert (gravity["value"], gravity["unit"]) == ("1.06", "SG")
    late = next(row for row in rows if row["key"] == "late_addition")
    assert float(late["low"]) < float(late["value"]) < float(late["high"])
    assert late["basis"] == "estimate"
    level = next(row for row in rows if row["key"] == "lot.bottles.3-methyl-1-butanol")
    assert level["unit"] == "mg/L"
    assert float(level["low"]) < float(level["value"]) < float(level["high"])


def test_csv_and_sheet_agree_on_every_figure(sheet: Sheet) -> None:
    rows = list(csv.DictReader(io.StringIO(render_csv(sheet))))
    keys = {(row["step"], row["key"]) for row in rows}
    assert {(s.step_id, f.key) for s in sheet.sections for f in s.figures} <= keys


def test_the_sheet_is_plain_json(sheet: Sheet) -> None:
    assert json.loads(json.dumps(sheet.to_dict(), allow_nan=False))["title"] == "Trial | one"


def test_accounts_show_both_ends(sheet: Sheet) -> None:
    table = next(t for t in sheet.accounts if t.title == "Account of ethanol")
    for side in ("in", "out"):
        shares = [row[3] for row in table.rows if row[0] == side]
        assert sum(share for share in shares if isinstance(share, float)) == pytest.approx(
            1.0, abs=1e-9
        )


def test_every_basis_used_is_explained(sheet: Sheet) -> None:
    explained = {basis for basis, _ in sheet.legend}
    assert {level.basis for level in sheet.levels} <= explained


def test_wide_heads_are_broken_before_numbers_are() -> None:
    columns = (Column("share of it in"), Column("spent low wines", "fraction"))
    lines = lay_out(columns, [["methanol", "11.6 %"]], width=20)
    assert [line.split() for line in lines[-2:]] == [
        ["--------", "------"],
        ["methanol", "11.6", "%"],
    ]
    assert " ".join(" ".join(lines[:3]).split()) == "spent share of low it in wines"
    assert max(map(len, lines)) <= 20


def test_a_row_that_cannot_fit_becomes_a_block() -> None:
    columns = (Column("moment"), Column("time", "duration"), Column("head", "temperature"))
    lines = lay_out(columns, [["hearts end", "52.7 min", "91.3 °C"]], width=26)
    assert " ".join(" ".join(lines).split()) == "hearts end: time 52.7 min, head 91.3 °C"
    assert max(map(len, lines)) <= 26


def test_numbers_are_flush_right() -> None:
    columns = (Column("lot"), Column("volume", "volume"))
    lines = lay_out(columns, [["a", "1.00 L"], ["b", "10.0 L"], ["c", "1 L"]], width=80)
    assert lines[2:] == ["  a    1.00 L", "  b    10.0 L", "  c       1 L"]


def test_long_words_wrap_in_the_last_column() -> None:
    columns = (Column("compound"), Column("in all", "mass"), Column("where it is"))
    body = [["ethanol", "1.00 kg", "hearts 60 %, tails 25 %, spent low wines 10 %"]]
    lines = lay_out(columns, body, width=52)
    assert max(map(len, lines)) <= 52
    assert " ".join(" ".join(lines[2:]).split()) == " ".join(body[0])
    assert len(lines) == 4


def test_what_to_look_for_stays_a_table_in_us_units_at_80_columns(sheet: Sheet) -> None:
    text = render_text(sheet, width=80, system="us")
    tables = text.split("What to look for\n")[1:]
    assert tables
    for table in tables:
        part = table.split("Time counts from", 1)[0]
        assert "-----" in part  # heads and a rule, not a block for each row
        assert "US\nfl" not in part
        for line in part.splitlines():
            assert len(line) <= 80
    assert max(map(len, text.splitlines())) <= 80
    whole = text.split("What to look for\n")[-1].split("Time counts", 1)[0]
    assert " US fl oz" in whole or " US gal" in whole
    assert "time 0 h, collected" not in whole
    assert "\u00a0" not in text


def test_us_sheets_have_proof_gallons_cubic_feet_and_no_quarts(sheet: Sheet) -> None:
    text = render_text(sheet, system="us")
    assert "LPA" not in text
    assert "proof gal" in text
    assert "cu ft" in text
    assert "US qt" not in text


@pytest.mark.parametrize(
    ("text", "both"),
    [
        (
            "18.4 L in a boiler of 25 L",
            "18.4 L (4.86 US gal) in a boiler of 25 L (6.60 US gal)",
        ),
        ("about 0.59 m³ of carbon dioxide", "about 0.59 m³ (20.8 cu ft) of carbon dioxide"),
        ("118 m³ of air", "118 m³ (4170 cu ft) of air"),
        ("150 mg/L, 20 g per hL, 3.6 m³/s", "150 mg/L, 20 g per hL, 3.6 m³/s"),
    ],
)
def test_cautions_have_us_volumes_beside_metric_ones(text: str, both: str) -> None:
    # 1 US gal is 3.785412 L, 1 cubic foot 0.02831685 m³ (NIST SP 811).
    assert warned(text, "us") == both
    assert warned(text, "metric") == text

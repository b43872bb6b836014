# SPDX-License-Identifier: MIT
"""``middlecut calibrate`` on the demo plan and on the demo batch of a record."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import middlecut as mc
from middlecut.adapters.store_sql import SqlStore
from middlecut.adapters.system import RandomIds, SystemClock
from middlecut.app.demo import seed_demo
from middlecut.app.record import Record
from middlecut.errors import InputError
from middlecut.insight.narrow import NarrowedCompound
from middlecut.insight.narrowed_file import load_narrowed

DEMO = mc.example_path("demo")
TRUE_EFFICIENCY = 0.90
"""Of the invented truth; the demo plan says 97 %, known to 4 points."""
WASH = """time,quantity,value,temperature
0 h,gravity,1.066 SG,20 °C
24 h,gravity,1.045 SG,22 °C
36 h,gravity,1.030 SG,22 °C
36 h,refraction,9.1 °Bx,
80 h,gravity,1.011 SG,22 °C
"""


@pytest.fixture(scope="module")
def run_csv() -> str:
    """Return what would be read on the demo's spirit run if its heater gave 90 %."""
    plan = mc.load_plan(DEMO)
    still = replace(plan.stills["column"], heater_efficiency=TRUE_EFFICIENCY)
    truth = mc.predict(replace(plan, stills={**plan.stills, "column": still}))
    curve = truth.steps["spirit"].curve
    assert curve is not None
    drop = curve.facts.heat_up_time + curve.facts.fill_time
    rows = ["time,quantity,value,temperature", "0 min,power-on,,", f"{drop:.1f} s,first-drop,,"]
    rows += [f"{drop + cut.end:.1f} s,cut,{cut.into}," for cut in curve.cuts[:2]]
    for moment in (900.0, 1800.0, 2700.0, 3600.0, 4500.0):
        at = f"{drop + moment:.1f} s"
        strength, volume = (
            float(np.interp(moment, curve.time, values))
            for values in (curve.strength, curve.volume)
        )
        rows += [
            f"{at},distillate_strength,{100.0 * strength:.2f} %vol,20 °C",
            f"{at},collected_volume,{1e3 * volume:.4f} L,20 °C",
        ]
    rows += ["70 min,distillate_strength,87,20 °C", "71 min,distillate_strength,87 %vol,"]
    return "\n".join(rows) + "\n"


def written(name: str, text: str) -> Path:
    path = Path(name)
    path.write_text(text, encoding="utf-8")
    return path


def words_of(text: str) -> str:
    return " ".join(text.split())


def test_a_run_is_fitted_and_shown(run: Any, run_csv: str) -> None:
    log = written("run.csv", run_csv)
    done = run("calibrate", DEMO, "--step", "spirit", "--readings", log)
    assert done.code == 0
    page = words_of(done.out)
    assert "column: fitted to 11 readings of run." in page  # ten, and the span of two marks
    assert "heater efficiency 97.0 %" in page
    told = page.split("Of these the readings say next to nothing, so they stay near what was")[1]
    # What the sentence says they became is what the table shows.
    assert re.search(r"described: .*coolant duty \(300 W to \d+ W\)", told)
    moved = re.search(r"coolant duty \(300 W to (\d+ W)\)", told)
    assert moved is not None
    assert f"coolant duty 300 W {moved[1]}" in page
    assert "Tied to each other" in page
    assert "distillate strength" in page
    assert "line 16: " in page  # without its unit
    assert "temperature of the sample" in page
    assert all(len(line) <= 88 for line in done.out.splitlines())


def test_the_truth_lies_within_and_the_fit_is_closer_than_the_plan(run: Any, run_csv: str) -> None:
    log = written("run.csv", run_csv)
    done = run("calibrate", DEMO, "--step", "spirit", "--readings", log, "--json")
    page = json.loads(done.out)
    fitted = next(one for one in page["parameters"] if one["name"] == "heater_efficiency")
    assert fitted["low"] < TRUE_EFFICIENCY < fitted["high"]
    assert fitted["value"] < 0.95
    assert page["trustworthy"] == (page["reasons"] == [])
    # Head loss and coolant duty return liquid alike; the readings cannot tell one from the other.
    assert page["undetermined"]
    names = [one["name"] for one in page["parameters"]]
    assert [len(row) for row in page["correlation"]] == [len(names)] * len(names)
    assert {one["quantity"] for one in page["quantities"]} == {
        "distillate_strength", "collected_volume", "first_drop_time",
    }  # fmt: skip
    assert page["scatter"]["before"] > 2.0
    assert page["scatter"]["after"] < 0.8
    volume = next(one for one in page["quantities"] if one["quantity"] == "collected_volume")
    assert volume["after"] < 0.3 * volume["before"]
    assert page["unreadable"][0]["line"] == 16
    assert len(page["refused"]) == 1


def test_a_kept_still_is_used_by_later_plans(run: Any, run_csv: str) -> None:
    log = written("run.csv", run_csv)
    command = ("calibrate", DEMO, "--step", "spirit", "--readings", log)
    done = run(*command, "--write", "column.json")
    assert "middlecut predict PLAN --still column.json" in words_of(done.out)
    kept = mc.load_still("column.json")
    assert kept.provenance["runs"] == "run"
    assert run(*command, "--write", "next.toml").code == 0
    plan = mc.load_plan("next.toml")
    told = Path("next.toml").read_text(encoding="utf-8")
    assert f"# Calibrated on 11 readings of run (middlecut {kept.provenance['middlecut']}" in told
    assert kept.provenance["readings_sha256"][:12] in told
    still = plan.stills["column"]
    assert still.heater_efficiency == pytest.approx(kept.still.heater_efficiency, rel=1e-4)
    assert plan.stills["open"] == mc.load_plan(DEMO).stills["open"]
    lines = [line for line in told.splitlines() if line in DEMO.read_text(encoding="utf-8")]
    assert "# A 5 L pot, heated from outside, with a vapour basket in the neck." in lines
    # With the file beside the old plan the spirit run takes as long as in the new plan.
    old = json.loads(run("predict", DEMO, "--still", "column.json", "--json").out)
    new = json.loads(run("predict", "next.toml", "--json").out)
    spans = [
        next(one["value"] for one in page["steps"]["spirit"]["figures"] if one["key"] == "run_time")
        for page in (old, new)
    ]
    assert spans[0] == pytest.approx(spans[1], rel=1e-3)
    plain = json.loads(run("predict", DEMO, "--json").out)
    assert old["steps"]["spirit"] != plain["steps"]["spirit"]
    assert run("predict", DEMO, "--still", "absent.json").code == 2
    # What the numbers rest on stands on the sheet, in every form; a plain plan says nothing.
    (said,) = old["rests_on"]
    assert re.match(
        r"Still column: as fitted on 20\d\d-\d\d-\d\d to 11 readings of run \(middlecut", said
    )
    assert kept.provenance["readings_sha256"][:12] in said
    assert "rests_on" not in plain
    assert run("predict", DEMO, "--still", "column.json", "--out", "sheet.md").code == 0
    assert said in Path("sheet.md").read_text(encoding="utf-8")
    assert said in words_of(run("predict", DEMO, "--still", "column.json").out)
    doubted = replace(kept, trustworthy=False, reasons=("The readings scatter.",))
    mc.save_still(doubted, "doubted.json")
    page = words_of(run("predict", DEMO, "--still", "doubted.json").out)
    assert "description. Take it with care. The readings scatter." in page


def test_two_runs_and_another_charge(run: Any, run_csv: str) -> None:
    log, second = written("run.csv", run_csv), written("again.csv", run_csv.replace("88.3", "88.5"))
    words = ("--readings", log, "--readings", second)
    page = json.loads(run("calibrate", DEMO, "--step", "spirit", *words, "--json").out)
    assert page["provenance"]["runs"] == "run, again"
    assert "strength of charge 2" in [one["name"] for one in page["parameters"]]
    charge = ("--charge", "10.4 L", "--charge-strength", "25 %vol")
    other = run("calibrate", DEMO, "--step", "spirit", "--readings", log, *charge, "--json")
    assert other.code == 0
    # The readings were invented for the 23.6 %vol that the plan predicts: the fit pulls there.
    shift = next(
        one for one in json.loads(other.out)["parameters"] if one["name"] == "strength of charge 1"
    )
    assert shift["high"] < -0.003


BAD = (
    ("7000 s,collected_volume,160 L,", "160 L cannot come of a charge of 10.6 L"),
    ("7000 s,collected_volume,0.9 kg,", "unit of mass"),
    ("7000 s,head_temperature,174 °C,", "174.0 °C is outside what is possible"),
    ("9000 min,distillate_strength,20 %vol,20 °C", "the run of the plan lasts"),
    ("7000 s,distillate_strength,70 %vol,", "needs the temperature of the sample"),
    ("7000 s,distillate_strength,70 %vol,90 °C", "it can be corrected"),
    ("SAME", "it counts once"),
    ("900 s,distillate_strength,90 %vol,20 °C", "before the first drop"),
    ("-5 min,collected_volume,0.9 L,", "before"),
    ("7000 s,power,150 %,", "150.0 % is no setting between 0 and 100.0 %"),
    ("7000 s,cut,middle,", "has no cut"),
)


@pytest.mark.parametrize(("row", "said"), BAD, ids=[said for _, said in BAD])
def test_a_bad_row_moves_nothing_and_is_named(run: Any, run_csv: str, row: str, said: str) -> None:
    plain = written("run.csv", run_csv)
    same = next(line for line in run_csv.splitlines() if "distillate_strength" in line)
    bad = written("bad.csv", run_csv + row.replace("SAME", same) + "\n")
    first, second = (
        json.loads(run("calibrate", DEMO, "--step", "spirit", "--readings", log, "--json").out)
        for log in (plain, bad)
    )
    assert second["parameters"] == first["parameters"]
    told = [one["reason"] for key in ("refused", "unreadable") for one in second[key]]
    assert any(said in one for one in [*told, *second["refused_marks"]]), told


def test_one_wild_reading_is_pointed_at(run: Any, run_csv: str) -> None:
    # A boiler at 40 °C: possible for a thermometer, not for a still. The fit says where it is.
    log = written("run.csv", run_csv + "7000 s,boiler_temperature,40 °C,\n")
    log.write_text(log.read_text() + "7100 s,boiler_temperature,94 °C,\n", encoding="utf-8")
    done = run("calibrate", DEMO, "--step", "spirit", "--readings", log, "--write", "next.toml")
    assert done.code == 0
    assert "Take the intervals with care. The readings scatter" in words_of(done.out)
    wild = next(line for line in done.out.splitlines() if "40.0 °C" in line)
    assert "look at it" in wild
    # What is kept says so too.
    assert "# Take with care: The readings scatter" in Path("next.toml").read_text(encoding="utf-8")


def test_a_run_given_twice_is_refused(run: Any, run_csv: str) -> None:
    log, same = written("run.csv", run_csv), written("same.csv", run_csv)
    words = ("calibrate", DEMO, "--step", "spirit", "--readings", log, "--readings", same)
    done = run(*words)
    assert done.code == 2
    assert "a run counts once" in done.err


def test_a_fermentation_is_fitted_and_kept(run: Any) -> None:
    log = written("wash.csv", WASH)
    words = ("calibrate", DEMO, "--step", "ferment-1", "--readings", log)
    done = run(*words, "--write", "next.toml")
    assert done.code == 0
    page = words_of(done.out)
    assert "ferment-1: fitted to 4 readings." in page
    assert "use a hydrometer" in page
    step = mc.load_plan("next.toml").step("ferment-1")
    found = json.loads(run(*words, "--json").out)
    final = found["final_gravity"]["typical"]
    assert final > 1.008  # the plan said 1.006, and 1.011 was read
    assert getattr(step, "final_gravity", 0.0) == pytest.approx(final, abs=1e-4)
    assert found["scatter"]["after"] < 1.0 < found["scatter"]["before"]
    assert len(found["residuals"]) == 4
    assert run(*words, "--write", "wash.json").code == 2


def test_laboratory_results_narrow_factors(run: Any) -> None:
    lots = mc.predict(mc.load_plan(DEMO)).lots
    rows = ["lot,compound,value,uncertainty"]
    for name in ("heads", "hearts", "tails"):
        value = lots[name].compounds["1-propanol"]
        rows.append(f"{name},1-propanol,{value:.3f} mg/L,3 %")
    lab = written("lab.csv", "\n".join([*rows, "hearts,1-propanol,3,5 %"]) + "\n")
    words = ("calibrate", DEMO, "--step", "spirit", "--laboratory", lab)
    done = run(*words)
    assert done.code == 0
    assert "1-propanol" in done.out
    assert "line 5: " in done.out
    found = json.loads(run(*words, "--json").out)["compounds"][0]
    assert found["results"] == 3
    assert found["volatility"]["spread"] < found["volatility_before"]["spread"]
    # A lot of another name is left out, with its line and the names that come nearest.
    more = ("heart,1-propanol,300 mg/L,3 %", "hearts,vanillin,3 mg/L,3 %")
    odd = written("odd.csv", "\n".join([*rows, *more]) + "\n")
    left_out = run("calibrate", DEMO, "--step", "spirit", "--laboratory", odd)
    assert left_out.code == 0
    page = words_of(left_out.out)
    assert (
        "Not used - line 5: There is no lot of this run called 'heart'. Did you mean 'hearts'"
        in page
    )
    assert "line 6: There is no compound in the charge called 'vanillin'" in page
    none = written("none.csv", "\n".join([rows[0], *more]) + "\n")
    failed = run("calibrate", DEMO, "--step", "spirit", "--laboratory", none)
    assert failed.code == 2
    assert "none of its 2 results can be used" in words_of(failed.err)
    assert "line 2: There is no lot of this run called 'heart'" in words_of(failed.err)
    kept = run(*words, "--write", "factors.json")
    assert "--draws 500 --factors factors.json" in words_of(kept.out)
    told = ("predict", DEMO, "--draws", "8", "--factors", "factors.json")
    page = words_of(run(*told).out)
    assert re.search(
        r"Factors: narrowed by laboratory results of step spirit, lab.csv, on 20\d\d-\d\d-\d\d "
        r"\(1-propanol by 3 results; factors.json\)",
        page,
    )
    assert json.loads(run(*told, "--json").out)["rests_on"][0].startswith("Factors: narrowed by")
    (one,) = load_narrowed("factors.json")
    assert isinstance(one, NarrowedCompound)
    assert one.volatility.median == found["volatility"]["median"]
    # A later plan is predicted with it: the volatility is no longer as uncertain as the tables say.
    predict = ("predict", DEMO, "--draws", "30", "--json")
    before, after = (
        json.loads(run(*predict, *more).out) for more in ((), ("--factors", "factors.json"))
    )
    assert before["lots"] != after["lots"]
    for file, said in (("absent.json", "absent.json"), (str(lab), "no file of narrowed factors")):
        refused = run(*predict, "--factors", file)
        assert refused.code == 2
        assert said in words_of(refused.err)
    assert "Add --draws" in run("predict", DEMO, "--factors", "factors.json").err
    assert run(*words, "--write", "factors.toml").code == 2
    text = Path("factors.json").read_text(encoding="utf-8")
    for old, new in (('"version": 2', '"version": 9'), ('"median": ', '"median": -')):
        written("bad.json", text.replace(old, new))
        with pytest.raises(InputError, match=r"bad\.json"):
            load_narrowed("bad.json")


def test_laboratory_results_of_a_wash_narrow_what_came_out_of_its_ingredient(run: Any) -> None:
    value = mc.predict(mc.load_plan(DEMO)).steps["ferment-2"].made["wash 2"].compounds
    lab = written(
        "lab.csv", f"lot,compound,value\nwash 2,theobromine,{value['theobromine']} mg/L\n"
    )
    words = ("calibrate", DEMO, "--step", "ferment-2", "--laboratory", lab)
    done = run(*words)
    assert done.code == 0, done.err
    assert "share of cacao nibs, roasted that comes out" in done.out
    found = json.loads(run(*words, "--json").out)
    assert found["results"] == 1
    assert all(one["after"]["spread"] < one["before"]["spread"] for one in found["inputs"])
    kept = run(*words, "--write", "factors.json")
    assert "--draws 500 --factors factors.json" in words_of(kept.out)
    predict = ("predict", DEMO, "--draws", "60", "--json")
    widths = []
    for more in ((), ("--factors", "factors.json")):
        level = json.loads(run(*predict, *more).out)["lots"]["wash 2"]["compounds"]["theobromine"]
        widths.append(level["kg_high"] / level["kg_low"])
    assert widths[1] < 1.0 + 0.5 * (widths[0] - 1.0)
    # A plan without cacao has nothing to take from it.
    plain = written("plain.toml", Path(mc.example_path("neutral")).read_text(encoding="utf-8"))
    other = run("predict", plain, "--draws", "4", "--factors", "factors.json")
    assert other.code == 0, other.err
    assert run(*words, "--write", "factors.toml").code == 2


@pytest.fixture
def record(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Make a record with the demo batch part-way through its spirit run."""
    path = tmp_path / "data" / "record.sqlite"
    monkeypatch.setenv("MIDDLECUT_RECORD", str(path))
    store = SqlStore(path)
    seed_demo(Record(store, SystemClock(), RandomIds()))
    store.close()
    return path


def test_a_run_of_the_record_is_fitted(run: Any, record: Path) -> None:
    name = mc.load_plan(DEMO).batch.name
    done = run("calibrate", "--batch", name, "--step", "spirit", "--json")
    assert done.code == 0, done.err
    page = json.loads(done.out)
    # The demo's readings are its prediction with deviations of a few tenths.
    assert page["scatter"]["before"] < 2.0
    assert page["scatter"]["after"] <= page["scatter"]["before"]
    wash = run("calibrate", "--batch", name, "--step", "ferment-1", "--json")
    assert wash.code == 0, wash.err
    assert len(json.loads(wash.out)["residuals"]) >= 3
    kept = run("calibrate", "--batch", name, "--step", "ferment-1", "--write", "next.toml")
    assert kept.code == 0, kept.err
    assert mc.load_plan("next.toml").batch.name == name
    missing = run("calibrate", "--batch", "nobody", "--step", "spirit")
    assert missing.code == 2
    assert name in missing.err


def test_what_cannot_be_fitted_is_said_with_code_2(run: Any, run_csv: str) -> None:
    log = written("run.csv", run_csv)
    few = written("few.csv", "time,quantity,value,temperature\n5 min,head_temperature,79 °C,\n")
    wash = written("wash.csv", WASH)
    spirit = ("calibrate", DEMO, "--step", "spirit")
    for words, said in (
        (("calibrate", DEMO, "--step", "spirit"), "--readings"),
        (("calibrate", "--step", "spirit", "--readings", log), "PLAN"),
        ((*spirit, "--readings", log, "--laboratory", log), "one only"),
        ((*spirit, "--readings", "absent.csv"), "absent.csv"),
        ((*spirit, "--readings", few), "missing"),
        ((*spirit, "--readings", wash), "no reading of a run"),
        ((*spirit, "--readings", log, "--charge", "10 L"), "go together"),
        (
            (*spirit, "--readings", log, "--charge", "10", "--charge-strength", "30 %vol"),
            "--charge",
        ),
        ((*spirit, "--readings", log, "--write", "still.txt"), ".json or .toml"),
        ((*spirit, "--readings", log, "--write", log), "ending"),
        (("calibrate", DEMO, "--step", "bottle", "--readings", log), "distil step"),
        (("calibrate", DEMO, "--step", "ferment-1", "--readings", log), "gravity readings"),
    ):
        done = run(*words)
        assert done.code == 2, words
        assert done.out == ""
        assert said in words_of(done.err), (words, done.err)
        assert "Traceback" not in done.err

# SPDX-License-Identifier: MIT
"""Routes: the same ingredient through every entry point, and what becomes of its compounds."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest

import middlecut as mc
from middlecut.errors import InputError, NotFoundError, PlanError
from middlecut.insight.entry_points import ENTRY_POINTS, without_ingredient
from middlecut.insight.leaving import Leaving, leaving
from middlecut.insight.route_model import Routes
from middlecut.insight.route_short import in_short
from middlecut.insight.route_words import cost_sentence, leftover_sentence, shown_share
from middlecut.liquid import ingredients
from middlecut.plan.read import read_plan_text
from middlecut.steps.lot import Amount

COFFEE = "roasted coffee, medium (Arabica)"
SMALL = """
[batch]
name = "small"
[still.pot]
boiler_volume = "5 L"
heater_power = "1.0 kW"
head_loss = "35 W"
[lot.spirit]
volume = "2.5 L"
strength = "60 %vol"
[[step]]
id = "run"
kind = "distil"
purpose = "flavour"
still = "pot"
from = ["spirit"]
water = "1 L"
cuts = [
    { into = "first", until = "50 mL" },
    { into = "middle", until = "50 %vol" },
    { into = "last", until = "15 %vol" },
]
residue = "rest"
[[step]]
id = "reduce"
kind = "dilute"
from = "middle"
strength = "46 %vol"
into = "end"
"""
WOOD = """
[[step]]
id = "rest"
kind = "wood"
from = "middle"
form = "chips"
species = "american oak"
treatment = "medium toast"
dose = "4 g/L"
duration = "20 d"
into = "rested"
"""


@pytest.fixture(scope="module")
def demo() -> mc.Plan:
    return mc.load_plan(mc.example_path())


@pytest.fixture(scope="module")
def small() -> mc.Plan:
    return read_plan_text(SMALL)


@pytest.fixture(scope="module")
def coffee(demo: mc.Plan) -> Routes:
    return mc.routes(demo, "coffee", amount=0.02)


@pytest.fixture(scope="module")
def vanilla(demo: mc.Plan) -> Routes:
    return mc.routes(demo, "vanilla", amount=0.01)


def passed(found: Routes, entry_point: str, compound: str) -> dict[str, Leaving]:
    return {run.purpose: run for run in found.route(entry_point).row(compound).runs}


def test_every_entry_point_of_the_demo_is_open(coffee: Routes) -> None:
    assert tuple(route.entry_point for route in coffee.routes) == ENTRY_POINTS
    assert coffee.closed == ()
    assert coffee.lot == "bottles"


def test_all_of_the_content_is_somewhere(coffee: Routes) -> None:
    # Accounts close to 1e-9 of the mass at every step; a route has at most eleven steps.
    for route in coffee.routes:
        for row in route.rows:
            assert sum(row.shares.values()) == pytest.approx(1.0, abs=1e-8), row.compound
            assert all(share >= 0.0 for share in row.shares.values())
            assert row.concentration_low <= row.concentration <= row.concentration_high


def test_the_levels_and_the_shares_say_the_same(coffee: Routes) -> None:
    for route in coffee.routes:
        for row in route.rows:
            level = row.share * row.content / route.volume * 1e3
            assert row.concentration == pytest.approx(level, rel=1e-9, abs=1e-15)


@pytest.mark.parametrize("entry_point", ["wash-late", "basket", "steep"])
def test_a_route_is_the_difference_of_two_predictions(
    demo: mc.Plan, coffee: Routes, entry_point: str
) -> None:
    # The whole plan predicted with and without it, compounds of the yeast and all. The run is
    # integrated to 2e-4 of what was loaded, and a cut ends up to 3e-4 of its volume apart, where
    # late compounds rise steeply: 2e-3 of what was loaded covers both, twice. A bed in the basket
    # shifts what else comes over by up to 1 %.
    route = coffee.route(entry_point)
    bare, _ = without_ingredient(demo, ingredients.find("coffee"))
    before = mc.predict(bare).lots["bottles"].compounds
    neighbours = {marker.compound for marker in ingredients.find("cacao").tracked}
    after = mc.predict(route.plan).lots["bottles"].compounds
    for row in route.rows:
        level = after.get(row.compound, 0.0) - before.get(row.compound, 0.0)
        if row.compound in neighbours:  # a thicker bed changes what the nibs give, by some 3 %
            continue
        loaded = row.content / route.volume * 1e3
        noise = 1e-2 * before.get(row.compound, 0.0) + 2e-3 * loaded
        assert row.concentration == pytest.approx(level, abs=noise), row.compound


def test_vanillin_barely_leaves_the_boiler_and_not_with_the_heads(vanilla: Routes) -> None:
    # K of vanillin is below 0.03 at every strength (modified UNIFAC and the Henry constant of
    # Sander 2015 agree): it cannot be carried over, and what little comes, comes last.
    for entry_point in ("wash-early", "wash-late", "charge", "basket"):
        assert vanilla.route(entry_point).row("vanillin").share < 1e-3
    for run in passed(vanilla, "wash-late", "vanillin").values():
        assert run.distilled < 0.01
        assert run.timing == "late"
    assert vanilla.route("steep").row("vanillin").share > 0.2
    (told,) = [text for text in vanilla.conclusions if text.startswith("vanillin:")]
    assert "almost none of it distils" in told
    assert "to taste it, steep or dose" in told
    assert "not with the heads" in told


def test_a_methoxypyrazine_survives_a_stripping_run(coffee: Routes) -> None:
    # K from the Henry constant (Sander 2015): about 290 in water, 15 at a mole fraction of 0.1; a
    # wash at 7 % vol gives it off with the first of the distillate.
    runs = passed(coffee, "wash-late", "2-isobutyl-3-methoxypyrazine")
    assert runs["strip"].distilled > 0.95
    told = [text for text in coffee.conclusions if text.startswith("2-isobutyl-3-methoxy")]
    assert "survives the stripping run" in told[0]


def test_monoterpenes_leave_in_the_first_quarter_and_heavy_notes_last(demo: mc.Plan) -> None:
    # Common practice for juniper in the boiler at 30 to 50 % vol: monoterpenes in the first
    # quarter. Phenols of coffee come last: K of 4-vinylguaiacol is below that of furfural.
    runs = passed(mc.routes(demo, "juniper", amount=0.02), "charge", "alpha-pinene")
    assert runs["flavour"].centre is not None
    assert runs["flavour"].centre < 0.25
    assert runs["flavour"].timing == "early"


def test_coffee_leaves_in_the_order_of_volatility(coffee: Routes) -> None:
    # Strecker aldehydes first, phenols last; the order is that of K in the reference table.
    names = ["3-methylbutanal", "diacetyl", "2-ethyl-3,5-dimethylpyrazine", "guaiacol"]
    centres = []
    for name in (*names, "4-vinylguaiacol"):
        centre = passed(coffee, "charge", name)["flavour"].centre
        assert centre is not None
        centres.append(centre)
    assert centres == sorted(centres)
    (order,) = [text for text in coffee.conclusions if text.startswith("Order of leaving")]
    places = [order.index(f" {name} ") for name in names]
    assert places == sorted(places)


def test_citrus_oil_leaves_at_once_from_a_weak_charge_and_smears_from_a_strong_one() -> None:
    # K of limonene falls with strength: over 1000 at a mole fraction of 0.1, 1.5 at 0.7 (Henry
    # constant of Sander 2015 at the water end). So from 30 % vol it comes with the first drops and
    # from 92 % vol all along the run.
    found = []
    for strength in ("30 %vol", "92 %vol"):
        text = SMALL.replace('"60 %vol"', f'"{strength}"').replace('water = "1 L"\n', "")
        text = text.replace('"50 %vol"', '"0.5 L"').replace('until = "15 %vol"', 'until = "0.2 L"')
        plan = read_plan_text(text)
        lot = replace(plan.given[0], amounts={"limonene": Amount(1e-4, 1e-4, 1e-4, "read")})
        run = leaving(mc.predict(replace(plan, given=(lot,))).steps["run"], "limonene", "flavour")
        assert run is not None
        assert run.centre is not None
        found.append(run)
    weak, strong = found
    assert weak.centre is not None
    assert strong.centre is not None
    assert (weak.timing, weak.centre < 0.05, weak.smears) == ("early", True, False)
    assert strong.centre > 0.3
    assert strong.cuts["last"] > 0.1


def test_what_a_plan_cannot_serve_is_told_with_the_reason(small: mc.Plan) -> None:
    found = mc.routes(small, "coriander")
    closed = {one.entry_point: one for one in found.closed}
    assert set(closed) == {"wash-early", "wash-late", "basket"}
    assert "no fermentation" in closed["wash-early"].reason
    assert "vapour basket" in closed["basket"].reason
    assert "basket_volume" in closed["basket"].remedy
    assert [route.entry_point for route in found.routes] == ["charge", "steep", "dose"]


def test_the_usual_amount_is_five_grams_a_litre(small: mc.Plan) -> None:
    found = mc.routes(small, "coriander")
    volume = mc.predict(small).lots["end"].volume
    assert found.amount_basis == "usual"
    assert found.amount == pytest.approx(5.0 * volume, rel=1e-12)


def test_an_ingredient_of_the_plan_is_taken_out_first(small: mc.Plan) -> None:
    add = (
        'residue = "rest"\nadd = [{ ingredient = "coriander", amount = "12 g", entry = "charge" }]'
    )
    plan = read_plan_text(SMALL.replace('residue = "rest"', add))
    found, bare = mc.routes(plan, "coriander"), mc.routes(small, "coriander", amount=0.012)
    assert found.amount_basis == "plan"
    assert found.amount == pytest.approx(0.012)
    for one, two in zip(found.routes, bare.routes, strict=True):
        assert [row.concentration for row in one.rows] == [row.concentration for row in two.rows]


def test_oak_and_ingredient_do_not_mix(small: mc.Plan) -> None:
    # Vanillin comes from the oak as well; the route holds that of the pods alone.
    rest, step = SMALL.split('[[step]]\nid = "reduce"')
    step = step.replace('from = "middle"', 'from = "rested"')
    plan = read_plan_text(f'{rest}{WOOD}[[step]]\nid = "reduce"{step}')
    assert mc.predict(plan).lots["end"].compounds["vanillin"] > 0.01
    row = mc.routes(plan, "vanilla", amount=0.01).route("charge").row("vanillin")
    plain = mc.routes(small, "vanilla", amount=0.01).route("charge").row("vanillin")
    assert sum(row.shares.values()) == pytest.approx(1.0, abs=1e-8)
    # The wood soaks up some of the spirit; the level is not that of the oak.
    assert row.concentration == pytest.approx(plain.concentration, rel=0.02)


def test_what_it_adds_in_time_and_cautions(vanilla: Routes) -> None:
    assert vanilla.route("steep").added_time == pytest.approx(7 * 86400.0, rel=1e-3)
    assert abs(vanilla.route("charge").added_time) < 60.0
    assert "charge-solids" in {one.code for one in vanilla.route("charge").cautions}
    assert "steep-flammable" in {one.code for one in vanilla.route("steep").cautions}
    assert "steep-flammable" not in {one.code for one in vanilla.route("charge").cautions}


def test_a_caution_whose_number_gets_worse_is_told_with_what_it_was(demo: mc.Plan) -> None:
    # The demo's basket holds orange peel and cacao already: more in it presses harder on the
    # vapour (Ergun), though the caution is not a new one.
    basket = mc.routes(demo, "juniper berry", amount=0.100).route("basket")
    load = next(one for one in basket.cautions if one.code == "basket-load")
    alone = next(
        one for one in mc.predict(demo).steps["flavour"].cautions if one.code == "basket-load"
    )
    assert load.value is not None
    assert alone.value is not None
    assert load.value > alone.value
    assert load.text.endswith(f"Without it: {alone.value * 100.0:.0f} %.")
    # What stays as it was is not told again.
    charge = mc.routes(demo, "juniper berry", amount=0.100).route("charge")
    assert not {"law", "path-open", "basket-load"} & {one.code for one in charge.cautions}


def test_a_caution_the_plan_has_already_is_told_once_it_is_about_this_ingredient(
    demo: mc.Plan,
) -> None:
    # Cacao brings caffeine into the demo's wash, and so the caution; coffee does it too.
    late = mc.routes(demo, "coffee", amount=0.060).route("wash-late")
    (told,) = [one for one in late.cautions if one.code == "food-caffeine"]
    assert "roasted coffee" in told.text


def test_steep_and_dose_say_what_they_cost(demo: mc.Plan) -> None:
    found = mc.routes(demo, "coffee", amount=0.060)
    item = ingredients.find("coffee")
    without = mc.predict(demo).lots["bottles"].volume
    for point in ("steep", "dose"):
        route = found.route(point)
        # The solids keep at most what they soak up, water_absorption kilograms a kilogram.
        spirit = mc.predict(demo).lots["full-strength spirit"]
        soaked = 0.060 * item.water_absorption * spirit.ethanol / spirit.mass
        assert 0.8 * soaked < 789.24 * route.cost.alcohol_kept < soaked
        assert route.cost.volume_without == pytest.approx(without)
        assert route.cost.volume_with < without
        text = cost_sentence(route, "bottles")
        assert "7.00 d more" in text
        assert "pure alcohol that its spent solids keep" in text
        assert "3.50 L of bottles instead of 4.00 L" in text
        assert "2 to watch" in text
    assert found.route("dose").cost.set_apart == pytest.approx(0.060 * 6e-3)
    assert "360 mL of spirit to set apart" in cost_sentence(found.route("dose"), "bottles")
    charge = found.route("charge")
    assert cost_sentence(charge, "bottles").startswith("It costs no more time")
    assert "US gal" in cost_sentence(found.route("dose"), "bottles", system="us") or "fl oz" in (
        cost_sentence(found.route("dose"), "bottles", system="us")
    )


def test_the_short_of_it_answers_what_people_ask(demo: mc.Plan, coffee: Routes) -> None:
    said = " ".join(in_short(coffee))
    only = next(text for text in in_short(coffee) if text.startswith("Only a steep or a dose"))
    # Vanillin and caffeine do not distil; a methoxypyrazine does (tests above).
    assert "vanillin" in only
    assert "caffeine" in only
    assert "2-isobutyl-3-methoxypyrazine" not in only
    # Yeast takes 3-methylbutanal that goes in early: table of conversions by yeast.
    late = next(text for text in in_short(coffee) if "late saves" in text)
    assert "3-methylbutanal" in late
    assert "Most arrives by steep of" in said
    peel = mc.routes(demo, "orange peel", amount=0.020)
    lost = next(text for text in in_short(peel) if text.startswith("Not into the wash"))
    # Terpenes leave with the gas of the fermentation.
    assert "limonene" in lost
    assert "linalool" not in lost


def test_ids_of_new_steps_are_as_a_plan_file_takes_them(coffee: Routes) -> None:
    for point in ("steep", "dose"):
        for step in coffee.route(point).plan.steps:
            assert re.fullmatch(r"\w[\w-]{0,39}", step.id), step.id


def test_the_lines_that_name_the_edit_can_be_written(demo: mc.Plan, vanilla: Routes) -> None:
    where, line = vanilla.route("wash-late").edit.split("\n", 1)
    # That wash has cacao already: a second list of the same name would be refused.
    assert where == "in step ferment-2, as one more item of its add:"
    last = 'attenuation = "90 %" },\n'
    found = read_plan_text(demo.text.replace(last, f"{last}{line}\n"))
    assert without_ingredient(found, ingredients.find("vanilla"))[1] == pytest.approx(0.01)
    where, lines = vanilla.route("charge").edit.split("\n", 1)
    assert where == "in step flavour, as one more item of its add:"
    assert lines.strip().startswith("{ ingredient")


BOUGHT = """
[batch]
name = "a bought spirit"

[lot.spirit]
volume = "2 L"
strength = "45 %vol"

[[step]]
id = "fill"
kind = "bottle"
from = "spirit"
bottle_volume = "500 mL"
strength = "45 %vol"
into = "bottles"
"""


@pytest.mark.parametrize("point", ["steep", "dose"])
def test_new_steps_can_be_written_as_they_stand_there(point: str) -> None:
    route = mc.routes(read_plan_text(BOUGHT), "coffee", amount=0.02).route(point)
    where, lines = route.edit.split("\n", 1)
    lot = where.split('"')[3]
    assert where == f'before the step that takes "spirit", which then takes "{lot}":'
    text = BOUGHT.replace('[[step]]\nid = "fill"', f'{lines}\n\n[[step]]\nid = "fill"')
    written = mc.predict(read_plan_text(text.replace('from = "spirit"\nbottle',
                                                     f'from = "{lot}"\nbottle')))  # fmt: skip
    assert written.lots["bottles"].compounds["caffeine"] == pytest.approx(
        route.row("caffeine").concentration, rel=1e-3
    )


def test_a_plan_without_wash_and_still_is_summed_up_too() -> None:
    found = mc.routes(read_plan_text(BOUGHT), "coffee", amount=0.02)
    assert in_short(found)
    assert "by steep" in in_short(found)[0]


@pytest.mark.parametrize("amount", [0.0, -1.0, float("nan"), float("inf"), True])
def test_an_amount_that_is_none_is_refused(small: mc.Plan, amount: float) -> None:
    with pytest.raises(InputError, match="more than 0 kg"):
        mc.routes(small, "coriander", amount=amount)


def test_an_amount_that_fits_nowhere_is_refused(small: mc.Plan) -> None:
    with pytest.raises(InputError, match="fits nowhere"):
        mc.routes(small, "coriander", amount=60.0)


def test_unknown_names_offer_the_nearest(small: mc.Plan, coffee: Routes) -> None:
    with pytest.raises(NotFoundError, match="coriander"):
        mc.routes(small, "corriander")
    with pytest.raises(NotFoundError, match="steep"):
        coffee.route("stepe")
    with pytest.raises(NotFoundError, match="furfurylthiol"):
        coffee.route("steep").row("limonene")


def test_a_plan_that_cannot_be_done_is_refused() -> None:
    text = SMALL.replace('until = "50 mL"', 'until = "9 L"')
    with pytest.raises(PlanError):
        mc.routes(read_plan_text(text), "coriander")


def test_routes_are_plain_json_and_a_table(coffee: Routes) -> None:
    read = json.loads(json.dumps(coffee.to_dict(), allow_nan=False))
    assert read["routes"][0]["rows"][0]["compound"] == "2-furfurylthiol"
    frame = coffee.to_frame()
    assert set(frame["entry_point"]) == set(ENTRY_POINTS)
    assert len(frame) == sum(len(route.rows) for route in coffee.routes)


def test_the_fate_closes_and_ends_in_the_places_of_the_route(coffee: Routes) -> None:
    route = coffee.route("wash-late")
    name = "2-isobutyl-3-methoxypyrazine"
    way = mc.fate(route.plan, name)
    assert sum(end.share for end in way.ends) == pytest.approx(1.0, abs=1e-8)
    # Nothing else in the demo brings it, so the fate is that of the route.
    assert way.shares()["bottle"] == pytest.approx(route.row(name).share, rel=2e-3)
    assert way.total == pytest.approx(route.row(name).content, rel=1e-9)
    known = {node.key for node in way.nodes}
    assert all({flow.source, flow.target} <= known for flow in way.flows)
    assert len(way.to_frame()) == len(way.flows)
    json.dumps(way.to_dict(), allow_nan=False)


def test_what_goes_into_a_node_comes_out(demo: mc.Plan) -> None:
    way = mc.fate(demo, "ethyl acetate")
    for node in way.nodes:
        into = sum(flow.mass for flow in way.flows if flow.target == node.key)
        out = sum(flow.mass for flow in way.flows if flow.source == node.key)
        if node.kind == "step":
            assert into == pytest.approx(out, rel=1e-8), node.label
    assert way.shares()["heads"] > 0.5  # common practice: the heads carry the light esters


def test_a_compound_the_plan_does_not_hold(demo: mc.Plan) -> None:
    with pytest.raises(NotFoundError, match="ethyl acetate"):
        mc.fate(demo, "ethyl acetat")
    with pytest.raises(NotFoundError):
        mc.fate(demo, "ethanol")


@pytest.mark.parametrize(
    ("share", "text"),
    [(0.0, "0 %"), (5e-5, "<0.01 %"), (0.0499, "5 %"), (0.999, ">99 %"), (1.0, "100 %")],
)
def test_shares_are_shown_with_the_digits_they_deserve(share: float, text: str) -> None:
    assert shown_share(share) == text


def test_tables_and_conclusions_count_on_one_basis(demo: mc.Plan) -> None:
    # What a sentence says of foreshots and heads adds up to the heads of the table.
    found = mc.routes(demo, "cacao nibs", amount=0.1)
    row = found.route("wash-late").row("3-methylbutanal")
    (told,) = [text for text in found.conclusions if text.startswith("3-methylbutanal:")]
    said = re.findall(r"the (foreshots|heads) \((\d+(?:\.\d+)?) % of all\)", told)
    assert [name for name, _ in said] == ["foreshots", "heads"]
    # Two shares rounded to two digits: a unit of the second digit each at most.
    assert sum(float(value) for _, value in said) == pytest.approx(
        100.0 * row.shares["heads"], abs=2.0
    )
    assert "of what reaches it" in told


def test_what_a_steep_leaves_unused_is_said(demo: mc.Plan) -> None:
    found = mc.routes(demo, "cacao nibs", amount=0.1)
    steep = found.route("steep")
    most = max(row.shares.get("left over", 0.0) for row in steep.rows)
    assert most > 0.01
    assert f"Up to {shown_share(most)} stays in what no later step uses up (" in steep.sentence
    assert leftover_sentence(0.005, ("a lot",)) == ""

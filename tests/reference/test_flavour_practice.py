# SPDX-License-Identifier: MIT
"""Routes of an ingredient against common practice (no published source; so marked in the issue).

Where the model says something else, the test says so with the number instead of being widened.
"""

from __future__ import annotations

from functools import lru_cache

import pytest

import middlecut as mc
from middlecut.errors import NotFoundError
from middlecut.insight.route_model import Route, RouteRow, Routes
from middlecut.liquid import volatility

ATMOSPHERE = 101325.0
POD = 0.003
"""One split vanilla pod. [kg] Common size, 2 to 4 g."""
PEARS = """
[ingredient."windfall pears"]
like = "raspberries"
[ingredient."windfall pears".markers]
acetaldehyde = "20 mg/kg"
3-methylbutanal = "1 mg/kg"
"ethyl acetate" = "200 mg/kg"
"isoamyl acetate" = "10 mg/kg"
"ethyl butanoate" = "2 mg/kg"
"ethyl hexanoate" = "2 mg/kg"
"2-phenylethanol" = "3 mg/kg"
"""  # invented, to bring the esters and aldehydes in question; levels do not matter here
VOLATILE = (
    "acetaldehyde", "3-methylbutanal", "ethyl acetate", "isoamyl acetate", "ethyl butanoate",
    "ethyl hexanoate",
)  # fmt: skip


@lru_cache
def found(name: str, amount: float = 0.02) -> Routes:
    text = mc.example_path().read_text(encoding="utf-8")
    return mc.routes(mc.read_plan_text(text + PEARS), name, amount=amount)


def brought(route: Route) -> dict[str, RouteRow]:
    return {row.compound: row for row in route.rows if not row.made}


@pytest.mark.parametrize(
    ("name", "compound"),
    [
        ("coffee", "3-methylbutanal"),
        ("cacao", "3-methylbutanal"),
        ("cacao", "phenylacetaldehyde"),
        ("chocolate malt", "furfural"),
        ("cinnamon, Ceylon", "cinnamaldehyde"),
        ("lemon peel, dried", "citral"),
    ],
)
def test_ninety_per_cent_attenuation_is_late_enough(name: str, compound: str) -> None:
    """Common practice: add when about nine tenths of the fermentation is done."""
    late, early = found(name).route("wash-late"), found(name).route("wash-early")
    assert "when 90 % of the fall in gravity is done" in late.how
    lost = [
        sum(brought(way)[compound].shares.get(place, 0.0) for place in ("converted", "blown off"))
        for way in (late, early)
    ]
    assert lost[0] < lost[1] / 3.0  # a third of what pitching costs: ours are 0.1 to 0.29
    assert brought(late)[compound].share > 2.0 * brought(early)[compound].share


@pytest.mark.parametrize("name", ["coffee", "cacao", "chocolate malt", "cinnamon, Ceylon"])
def test_ninety_per_cent_attenuation_is_soon_enough(name: str) -> None:
    """The other side of the window: what is ground or broken is still drawn out in time."""
    late, early = (brought(found(name).route(way)) for way in ("wash-late", "wash-early"))
    for compound in early:
        left = [rows[compound].shares.get("spent solids", 0.0) for rows in (late, early)]
        assert left[0] - left[1] < 0.05, compound


def test_ninety_per_cent_attenuation_is_too_late_for_a_whole_pod() -> None:
    """Against practice, and expected so: slow tissue loses by it what the yeast does not touch."""
    late, early = (brought(found("vanilla").route(way)) for way in ("wash-late", "wash-early"))
    assert late["guaiacol"].share / early["guaiacol"].share == pytest.approx(0.86, abs=0.03)


def heavy_and_light(route: Route) -> tuple[float, float]:
    """Return the levels of what the vapour is poorer and richer in than a charge of 30 %vol."""
    sums = [0.0, 0.0]
    for name, row in brought(route).items():
        try:
            heavy = volatility.k_value(name, 0.1, ATMOSPHERE) < 1.0
        except NotFoundError:
            continue  # never distils: caffeine in no basket spirit would be no news
        sums[0 if heavy else 1] += row.concentration
    return sums[0], sums[1]


@pytest.mark.parametrize("name", ["coffee", "cacao", "clove", "cinnamon, Ceylon", "vanilla"])
def test_a_basket_gives_a_lighter_result_than_steeping(name: str) -> None:
    basket, steep = (heavy_and_light(found(name).route(way)) for way in ("basket", "steep"))
    assert basket[0] < 0.5 * steep[0]
    # And not only because less of everything comes: the heavy part is smaller too.
    assert basket[0] * steep[1] <= basket[1] * steep[0]


def test_a_basket_of_juniper_is_lighter_in_amount_but_not_in_kind() -> None:
    """Against practice, and expected so: its pinene goes with the heads, terpinen-4-ol does not."""
    parts = []
    for way in ("basket", "steep"):
        rows = brought(found("juniper").route(way))
        calm = sum(rows[name].concentration for name in ("terpinen-4-ol", "alpha-terpineol"))
        parts.append((calm, calm / sum(row.concentration for row in rows.values())))
    basket, steep = parts
    assert basket[0] < 0.7 * steep[0]
    assert basket[1] / steep[1] == pytest.approx(1.9, abs=0.2)


@pytest.mark.parametrize("way", ["charge", "basket"])
def test_a_split_pod_in_a_small_flavour_run_is_not_overwhelming(way: str) -> None:
    odour = found("vanilla", POD).route(way).row("vanillin").odour
    assert odour is not None
    assert odour.oav_high < 10.0
    steeped = found("vanilla", POD).route("steep").row("vanillin").odour
    assert steeped is not None
    assert steeped.oav > 20.0  # where it does overwhelm; so the bound above can fail


@pytest.mark.xfail(
    reason="practice tastes the pod gently; by K of vanillin its OAV from the basket is 0.09 "
    "(0.009 to 0.86), from the boiler 0.0003, and none of its other volatiles is nearer: guaiacol "
    "0.05 (to 0.20), p-anisaldehyde 0.009, 4-methylguaiacol 0.003, p-cresol 0.002, methyl "
    "salicylate 0.001; methyl cinnamate, anisyl alcohol and acetovanillone, not in the pantry, "
    "at recalled contents of 1, 2 and 14 mg/kg 0.005, 0.00005 and 0.00006",
    raises=AssertionError,
    strict=True,
)
@pytest.mark.parametrize("way", ["charge", "basket"])
def test_a_split_pod_in_a_small_flavour_run_is_noticed(way: str) -> None:
    odours = [row.odour for row in found("vanilla", POD).route(way).rows]
    assert max(odour.oav for odour in odours if odour is not None) >= 1.0


def levels(way: str, purpose: str, compound: str) -> tuple[float, float, float]:
    """Return the share in what comes before the hearts, its level and that of the hearts."""
    route = found("windfall pears", 0.2).route(way)
    (run,) = [one for one in route.row(compound).runs if one.purpose == purpose]
    made = mc.predict(route.plan).steps[run.step].made
    hearts = next(name for name in run.cuts if name in {"hearts", "flavour spirit"})
    first = list(run.cuts)[: list(run.cuts).index(hearts)]
    share = sum(run.cuts[name] for name in first)
    volume = sum(made[name].volume for name in first)
    return share, share / volume, run.cuts[hearts] / made[hearts].volume


@pytest.mark.parametrize("compound", VOLATILE)
def test_heads_of_a_spirit_run_carry_the_most_volatile(compound: str) -> None:
    share, level, hearts = levels("wash-late", "spirit", compound)
    assert share > 0.5  # most of it: ours are 0.60 (acetaldehyde) to 0.95
    assert level > 10.0 * hearts


def test_heads_of_a_spirit_run_do_not_carry_the_late() -> None:
    share, level, hearts = levels("wash-late", "spirit", "2-phenylethanol")
    assert share < 0.01
    assert level < hearts


@pytest.mark.parametrize("way", ["charge", "basket"])
@pytest.mark.parametrize("compound", VOLATILE)
def test_heads_of_a_flavour_run_are_richer_but_carry_little(way: str, compound: str) -> None:
    """Against practice, and expected so: 20 mL of heads hold 3 to 5 % of it, at twice the level."""
    share, level, hearts = levels(way, "flavour", compound)
    assert level > 1.5 * hearts
    assert 0.02 < share < 0.06

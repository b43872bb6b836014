# SPDX-License-Identifier: MIT
from __future__ import annotations

import json

import pytest

from middlecut.errors import InputError, NotFoundError
from middlecut.insight.clouding import louche, louche_strength
from middlecut.liquid import alcoholometry, aroma
from middlecut.steps.lot import Amount, Lot


def litre(strength: float, milligrams: dict[str, float]) -> Lot:
    mass_fraction = alcoholometry.mass_fraction_from_strength(strength)
    mass = alcoholometry.density_20(mass_fraction) * 1e-3
    return Lot(
        "made by hand",
        water=mass * (1.0 - mass_fraction),
        ethanol=mass * mass_fraction,
        amounts={name: Amount(mg * 1e-6, mg * 1e-6, mg * 1e-6) for name, mg in milligrams.items()},
    )


def test_saturation_is_level_over_solubility() -> None:
    # Limonene: 942 mg/L at 40 % in the published form of the relation (solubility_in_spirit.csv).
    found = louche(litre(0.4, {"limonene": 94.2}))
    assert found.saturation == pytest.approx(0.1, rel=0.005)
    assert found.rows[0].solubility == pytest.approx(942, rel=0.005)


@pytest.mark.parametrize(
    ("milligrams", "risk"), [(94.2, "clear"), (942.0, "may cloud"), (9420.0, "will cloud")]
)
def test_risk_goes_by_the_factor_of_three(milligrams: float, risk: str) -> None:
    assert louche(litre(0.4, {"limonene": milligrams})).risk == risk


def test_the_start_is_where_the_diluted_level_meets_the_solubility() -> None:
    lot = litre(0.6, {"trans-anethole": 3000.0})
    start = louche_strength(lot)
    assert start is not None
    assert 0.0 < start < 0.6
    level = lot.compounds["trans-anethole"] * start / lot.strength
    # The grid of 0.075 % vol and a straight line between its points: well within 1e-3.
    assert level == pytest.approx(1e3 * aroma.solubility("trans-anethole", start), rel=1e-3)


def test_anise_spirit_clouds_where_such_drinks_do() -> None:
    # Common practice: an anise spirit of about 1.5 to 2 g/L anethole at 40 to 45 % is clear in
    # the bottle and clouds when watered.
    found = louche(litre(0.45, {"trans-anethole": 1700.0}))
    assert found.saturation < 1.0
    assert found.starts_at is not None
    assert 0.2 < found.starts_at < 0.45


def test_oils_share_their_droplets() -> None:
    alone = louche(litre(0.5, {"limonene": 500.0}))
    both = louche(litre(0.5, {"limonene": 500.0, "alpha-pinene": 200.0}))
    other = louche(litre(0.5, {"alpha-pinene": 200.0}))
    assert both.saturation == pytest.approx(alone.saturation + other.saturation)
    assert both.starts_at is not None
    assert alone.starts_at is not None
    assert both.starts_at > alone.starts_at


def test_a_cloudy_lot_starts_at_its_own_strength() -> None:
    lot = litre(0.2, {"limonene": 5000.0})
    assert louche_strength(lot) == pytest.approx(0.2, abs=1e-6)


def test_a_trace_never_clouds() -> None:
    found = louche(litre(0.4, {"linalool": 1.0, "methanol": 500.0}))
    assert (found.starts_at, found.starts_at_high) == (None, None)
    assert [row.compound for row in found.rows] == ["linalool"]


def test_range_of_the_start_spans_it() -> None:
    found = louche(litre(0.7, {"limonene": 3000.0}))
    assert found.starts_at_low is not None
    assert found.starts_at is not None
    assert found.starts_at_high is not None
    assert found.starts_at_low < found.starts_at < found.starts_at_high


def test_strong_spirit_and_water_have_an_answer() -> None:
    # 90 % is beyond the relation: its solubility is taken at 80 %.
    strong = louche(litre(0.9, {"limonene": 1000.0}))
    assert strong.rows[0].solubility == pytest.approx(1e3 * aroma.solubility("limonene", 0.8))
    water = louche(Lot("w", water=1.0, ethanol=0.0, amounts={"limonene": Amount(1e-3, 1e-3, 1e-3)}))
    assert water.risk == "will cloud"


def test_nothing_to_cloud_is_refused() -> None:
    with pytest.raises(InputError, match="nothing to cloud"):
        louche(Lot("empty", water=0.0, ethanol=0.0))
    with pytest.raises(NotFoundError):
        louche(litre(0.4, {"unobtainium": 1.0}))


def test_it_goes_to_json_and_to_a_table() -> None:
    found = louche(litre(0.45, {"trans-anethole": 1000.0}))
    again = json.loads(json.dumps(found.to_dict(), allow_nan=False))
    assert again["factor"] == 3.0
    assert list(found.to_frame()["compound"]) == ["trans-anethole"]
    assert louche(litre(0.45, {})).to_frame().empty

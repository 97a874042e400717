"""Which part lies on which and how thick; light parts that show darker ones through."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.checks.layerstack import Layer
from reliefsmith.checks.showthrough import WEAK, covers, hiding_findings
from reliefsmith.colorimetry.hiding import HIDES, coefficients_of, shown_share
from reliefsmith.findings import Severity

NAVY, YELLOW, WHITE, BLACK = (31, 45, 77), (255, 210, 63), (244, 244, 240), (16, 16, 16)


def _square(*bounds: float) -> shapely.MultiPolygon:
    return shapely.MultiPolygon([shapely.box(*bounds)])


PLATE, LEFT, RIGHT, SPOT = (
    _square(0, 0, 40, 20),
    _square(0, 0, 20, 20),
    _square(20, 0, 40, 20),
    _square(3, 3, 9, 9),
)
BASE = Layer(1, 10, 0.0, 2.0, {"base": PLATE})


def test_a_part_lies_as_thick_as_its_whole_area_goes_up() -> None:
    found = covers([BASE, Layer(11, 3, 2.0, 2.6, {"spot": SPOT}), Layer(14, 1, 2.6, 2.8, {"spot": SPOT})])
    assert [(name, round(thick, 6), below) for name, thick, below, _ in found] == [("spot", 0.8, "base")]
    assert found[0][3][2] == 2.8


def test_the_narrow_top_of_a_slope_hides_nothing() -> None:
    edge, tip = _square(3, 3, 9, 8.5), _square(5, 5, 7, 7)  # 92 and 11 % of the spot
    found = covers(
        [
            BASE,
            Layer(11, 1, 2.0, 2.2, {"spot": SPOT}),
            Layer(12, 1, 2.2, 2.4, {"spot": edge}),
            Layer(13, 1, 2.4, 2.6, {"spot": tip}),
        ]
    )
    assert found[0][1] == pytest.approx(0.4)


def test_the_part_below_is_the_one_under_most_of_it() -> None:
    ground = Layer(1, 10, 0.0, 2.0, {"left": LEFT, "right": RIGHT})
    over = _square(15, 0, 27, 20)
    assert [item[2] for item in covers([ground, Layer(11, 1, 2.0, 2.2, {"over": over})])] == ["right"]
    beside = _square(50, 0, 60, 9)
    assert covers([ground, Layer(11, 1, 2.0, 2.2, {"beside": beside})]) == []


def test_what_begins_on_the_bed_or_goes_on_covers_nothing() -> None:
    assert covers([BASE, Layer(11, 3, 2.0, 2.6, {"base": SPOT})]) == []


def test_only_light_over_dark_is_told_the_weakest_first() -> None:
    layers = [BASE, Layer(11, 1, 2.0, 2.2, {"yellow": LEFT}), Layer(12, 2, 2.2, 2.6, {"white": RIGHT})]
    layers[1] = Layer(11, 1, 2.0, 2.2, {"yellow": LEFT, "white": RIGHT})
    colors = {"base": NAVY, "yellow": YELLOW, "white": WHITE}
    (item,) = hiding_findings(layers, colors, 0.2)
    shares = {
        name: shown_share(coefficients_of(colors[name]), thick, NAVY) for name, thick, _, _ in covers(layers)
    }
    assert all(share < HIDES for share in shares.values())
    first = min(shares, key=lambda name: shares[name])
    assert item.message.startswith(f"By assumed filament values, {first} shows base through")
    assert item.severity is (Severity.WARN if shares[first] < WEAK else Severity.NOTE)
    assert hiding_findings(layers, {"base": WHITE, "yellow": BLACK, "white": BLACK}, 0.2) == []


def test_a_part_thick_enough_is_not_told() -> None:
    thick = [BASE, Layer(11, 40, 2.0, 10.0, {"yellow": LEFT})]
    assert hiding_findings(thick, {"base": NAVY, "yellow": YELLOW}, 0.2) == []

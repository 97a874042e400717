"""Colors beside each other, and light over dark."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.checks.contrast import COLOR_VISION, difference, seen_by
from reliefsmith.checks.layerstack import Layer
from reliefsmith.checks.showthrough import hiding_findings
from reliefsmith.colorimetry.hiding import HIDES, Coefficients, coefficients_of, shown_share
from reliefsmith.findings import Severity
from reliefsmith.model import Part
from reliefsmith.model.arrays import Color

from . import solids
from .solids import base, codes, found, motif, on_grid, only

ORANGE, ORANGE_TOO = (240, 127, 31), (236, 120, 36)
# A red and a green of the same darkness: told apart by hue alone.
BRICK, MOSS = (170, 84, 46), (112, 116, 30)
BLACK = (10, 10, 12)


def _side_by_side(one: Color, other: Color, gap: float = 0.0, ground: Color = solids.WHITE) -> list[Part]:
    left, right = shapely.box(-20, -12, 0, 4), shapely.box(gap, -12, 20, 4)
    return [
        base(color=ground),
        motif(on_grid(left), name="one", color=one),
        motif(on_grid(right), name="other", color=other),
    ]


def _contrast(parts: list[Part]) -> list[tuple[Severity, str]]:
    return [(item.severity, item.message) for item in found(parts) if item.code == "low-contrast"]


def test_two_oranges_side_by_side() -> None:
    item = only(found(_side_by_side(ORANGE, ORANGE_TOO)), "low-contrast")
    assert item.severity is Severity.WARN
    assert "one and other" in item.message
    assert f"{difference(ORANGE, ORANGE_TOO):.1f}" in item.message
    assert item.at_mm is not None
    assert abs(item.at_mm[0]) <= 0.6
    assert item.at_mm[2] == solids.TOP_MM


def test_two_oranges_apart_on_a_ground_that_shows_both() -> None:
    assert _contrast(_side_by_side(ORANGE, ORANGE_TOO, gap=3.0)) == []


def test_two_oranges_across_a_thin_line_of_ground() -> None:
    assert [severity for severity, _ in _contrast(_side_by_side(ORANGE, ORANGE_TOO, gap=0.5))] == [
        Severity.WARN
    ]


def test_a_motif_in_the_color_of_its_ground() -> None:
    item = only(found([base(color=ORANGE_TOO), motif(color=ORANGE)]), "low-contrast")
    assert "base" in item.message


def test_ground_that_nobody_sees_counts_for_nothing() -> None:
    """A motif over the whole base leaves no base color to compare with."""
    assert _contrast([base(color=ORANGE_TOO), motif(solids.plate(), color=ORANGE)]) == []


def test_red_and_green_of_one_darkness() -> None:
    """Everybody with all cones sees the difference; people without green cones do not."""
    assert difference(BRICK, MOSS) > 10
    ((severity, words),) = _contrast(_side_by_side(BRICK, MOSS))
    assert severity is Severity.NOTE
    assert "green cones" in words
    assert "blue cones" not in words


def test_black_and_white_are_told_apart_by_all() -> None:
    assert _contrast(_side_by_side(BLACK, (128, 128, 128))) == []


@given(st.integers(0, 255), st.sampled_from(sorted(COLOR_VISION)))
def test_greys_look_the_same_to_all(level: int, vision: str) -> None:
    assert np.abs(np.subtract(seen_by((level,) * 3, vision), level)).max() <= 1


def test_light_over_dark_shows_it_through() -> None:
    """One layer of yellow on navy is plainly too thin; thirty layers are not."""
    yellow, navy = (255, 210, 63), (31, 45, 77)
    thin = [base(color=navy), motif(color=yellow, heights=(2.0, 2.2))]
    item = only(found(thin), "low-hiding")
    assert item.severity is Severity.WARN
    assert "assumed" in item.message
    assert item.at_mm is not None
    assert solids.badge().contains(shapely.Point(item.at_mm[:2]))
    assert item.at_mm[2] == 2.2
    thick = [base(color=navy), motif(color=yellow, heights=(2.0, 8.0))]
    assert "low-hiding" not in codes(found(thick))


def test_dark_over_light_is_not_noted() -> None:
    assert "low-hiding" not in codes(found([base(), motif(heights=(2.0, 2.2))]))


def test_the_number_of_layers_that_hides_is_the_least_one() -> None:
    yellow, navy = (255, 210, 63), (31, 45, 77)
    item = only(found([base(color=navy), motif(color=yellow, heights=(2.0, 2.4))]), "low-hiding")
    count = int(item.message.split(" layers would hide")[0].split()[-1])
    assert shown_share(coefficients_of(yellow), count * 0.2, navy) >= HIDES
    assert shown_share(coefficients_of(yellow), (count - 1) * 0.2, navy) < HIDES


def test_a_color_gets_the_coefficients_of_the_nearest_filament() -> None:
    assert coefficients_of((255, 255, 255)).name == "white"
    assert coefficients_of((214, 48, 44)).name == "red"
    assert all(coefficients_of(color).assumed for color in (solids.WHITE, solids.RED))


@given(
    st.floats(0.5, 20),
    st.floats(0.001, 20),
    st.floats(0.05, 3),
    st.floats(0.01, 1),
    st.sampled_from([BLACK, (200, 200, 200)]),
)
@settings(max_examples=60)
def test_a_thicker_layer_never_shows_more(
    s: float, k: float, thickness: float, more: float, ground: Color
) -> None:
    filament = Coefficients("any", (s,) * 3, (k,) * 3, assumed=True)
    thin, thick = shown_share(filament, thickness, ground), shown_share(filament, thickness + more, ground)
    assert 0 <= thin <= thick + 1e-12
    assert thick <= 1 + 1e-12


def test_no_absorption_at_all_is_no_division_by_zero() -> None:
    clear = Coefficients("clear", (5.0, 5.0, 5.0), (0.0, 0.0, 0.0), assumed=True)
    assert 0 < shown_share(clear, 0.6, BLACK) < 1


@pytest.mark.parametrize("vision", sorted(COLOR_VISION))
def test_colors_stay_colors(vision: str) -> None:
    for color in ((255, 0, 0), (0, 255, 0), (0, 0, 255), (255, 255, 0)):
        assert all(0 <= value <= 255 for value in seen_by(color, vision))


def test_a_measured_filament_takes_the_place_of_the_assumed_one() -> None:
    white, black = (240, 240, 240), (16, 16, 16)
    plate, patch = shapely.box(-20, -20, 20, 20), shapely.box(-10, -10, 10, 10)
    layers = [
        Layer(1, 10, 0.0, 2.0, {"base": shapely.MultiPolygon([plate])}),
        Layer(11, 2, 2.0, 2.4, {"motif": shapely.MultiPolygon([patch])}),
    ]
    colors = {"base": black, "motif": white}
    weak = Coefficients("milky", (0.5, 0.5, 0.5), (0.001, 0.001, 0.001), assumed=False)
    strong = Coefficients("chalk", (60.0, 60.0, 60.0), (0.1, 0.1, 0.1), assumed=False)
    (item,) = hiding_findings(layers, colors, 0.2, [(white, weak)])
    assert item.message.startswith("By measured filament values")
    assert "print a test" not in item.message
    assert hiding_findings(layers, colors, 0.2, [(white, strong)]) == []

"""Ground that the art all but encloses is the picture's; what lies open, or behind a wide mouth, is not."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import strategies as st
from PIL import Image, ImageDraw

import reliefsmith as rs
from oracles import coverage_faults
from reliefsmith.areas.surrounded import surround, surrounded
from reliefsmith.model import TracedAreas
from reliefsmith.polygons import as_multi
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import BackgroundSettings, ColorSettings
from tiers import examples

RED, BLUE, WHITE = (200, 40, 40), (40, 60, 160), (255, 255, 255)
INSIDE = shapely.Point(0, 0).buffer(27)
RING = shapely.Point(0, 0).buffer(30).difference(INSIDE)


def open_ring(mouth: float) -> shapely.MultiPolygon:
    return as_multi(RING.difference(shapely.box(20, -mouth / 2, 40, mouth / 2)))


def stripes(width: float, gap: float, count: int = 2) -> shapely.MultiPolygon:
    return as_multi([shapely.box(0, at * (10 + gap), width, at * (10 + gap) + 10) for at in range(count)])


def areas_of(*polygons: shapely.MultiPolygon, **more: object) -> TracedAreas:
    colors = np.array([RED, BLUE][: len(polygons)], dtype=np.uint8)
    return TracedAreas(polygons, colors, (100, 100), ground=WHITE, **more)


@pytest.mark.parametrize("mouth", [0.5, 2.0, 6.0, 11.0])
def test_a_pocket_behind_a_narrow_mouth_is_the_pictures(mouth: float) -> None:
    found = surrounded(open_ring(mouth))
    assert found.intersection(INSIDE).area > 0.99 * INSIDE.area
    assert found.difference(shapely.Point(0, 0).buffer(30)).area < 0.01 * INSIDE.area


@pytest.mark.parametrize("mouth", [24.0, 40.0])
def test_what_lies_behind_a_wide_mouth_stays_outside(mouth: float) -> None:
    assert surrounded(open_ring(mouth)).is_empty


def test_ground_that_a_ring_encloses_wholly_is_not_added_again() -> None:
    assert surrounded(as_multi(RING)).is_empty


@pytest.mark.parametrize(("width", "gap", "is_channel"), [(60, 4, True), (60, 12, True), (60, 16, False)])
def test_a_channel_is_long_and_at_most_a_quarter_of_the_picture_wide(width, gap, is_channel: bool) -> None:
    found = surrounded(stripes(width, gap))
    assert found.is_empty != is_channel
    if is_channel:  # its ends are straight, almost from corner to corner
        assert found.symmetric_difference(shapely.box(0, 10, width, 10 + gap)).area < 0.04 * width * gap


def test_a_short_channel_stays_outside() -> None:
    assert surrounded(stripes(30, 12)).is_empty


def test_art_in_very_many_pieces_is_a_pattern_and_has_no_channels() -> None:
    rows = [shapely.box(0, 5 * at, 100, 5 * at + 1) for at in range(50)]
    assert surrounded(as_multi(rows)).is_empty
    assert not surrounded(as_multi(rows[:10])).is_empty


@pytest.mark.parametrize(("side", "is_pattern"), [(6, False), (7, True)])
def test_more_than_40_pieces_that_lie_apart_are_a_pattern(side: int, is_pattern: bool) -> None:
    squares = [shapely.box(10 * x, 10 * y, 10 * x + 6, 10 * y + 6) for x in range(side) for y in range(side)]
    assert surrounded(as_multi(squares)).is_empty == is_pattern


@examples(10, 60, st.floats(0, 360), st.sampled_from([0.02, 1.0, 40.0]), st.booleans())
def test_turning_scaling_and_mirroring_change_nothing(degrees: float, factor: float, mirrored: bool) -> None:
    for art in (open_ring(4.0), stripes(60, 8, 3)):
        moved = shapely.affinity.rotate(art, degrees, origin=(0, 0))
        moved = shapely.affinity.scale(moved, -factor if mirrored else factor, factor, origin=(0, 0))
        ratio = surrounded(as_multi(moved)).area / factor**2 / surrounded(art).area
        assert ratio == pytest.approx(1, abs=0.02)


@pytest.mark.parametrize("degrees", [0.0, 12.3, 41.0, 90.0, 97.4, 97.5, 97.6, 135.0, 263.7])
@pytest.mark.parametrize("gap", [4.0, 7.9, 8.0, 8.1, 11.3])
def test_a_channel_as_wide_as_a_width_that_is_tried_is_whole(degrees: float, gap: float) -> None:
    """At 97.5 degrees a gap of 8 is one of the widths tried, to a millionth: half of it was closed."""
    art = shapely.affinity.rotate(stripes(60, gap, 3), degrees, origin=(0, 0))
    assert surrounded(as_multi(art)).area == pytest.approx(2 * 60 * gap, rel=0.02)


def test_it_becomes_enclosed_ground_in_a_valid_coverage() -> None:
    top, bottom = (as_multi(part) for part in stripes(60, 8).geoms)
    areas = areas_of(top, bottom)
    found = surround(areas, background=BackgroundSettings(), flat_colors=ColorSettings())
    assert found.enclosed == 2
    assert tuple(found.colors[2]) == WHITE
    assert found.polygons[2].area == pytest.approx(480, rel=0.02)
    assert coverage_faults(found.polygons) == ()
    assert [polygon.area for polygon in found.polygons[:2]] == pytest.approx([600, 600])


def test_it_joins_enclosed_ground_that_is_there() -> None:
    window = as_multi(shapely.box(20, 3, 30, 7))
    framed = as_multi(stripes(60, 8).difference(window))
    areas = areas_of(framed, window, enclosed=1)
    found = surround(areas, background=BackgroundSettings(), flat_colors=ColorSettings())
    assert found.enclosed == 1
    assert found.polygons[1].area == pytest.approx(40 + 480, rel=0.02)


@pytest.mark.parametrize(
    ("background", "colors"),
    [
        (BackgroundSettings(enclosed="remove"), ColorSettings()),
        (BackgroundSettings(color="#ffffff"), ColorSettings()),
        (BackgroundSettings(), ColorSettings(omit=("#00ff00",))),
    ],
)
def test_what_the_recipe_says_of_ground_goes_before_it(background, colors) -> None:
    areas = areas_of(stripes(60, 8))
    assert surround(areas, background=background, flat_colors=colors) is areas


def test_a_transparent_ground_is_open_as_it_says() -> None:
    areas = TracedAreas((stripes(60, 8),), np.array([RED], np.uint8), (100, 100))
    assert surround(areas, background=BackgroundSettings(), flat_colors=ColorSettings()) is areas


@pytest.fixture(scope="module")
def flag(tmp_path_factory: pytest.TempPathFactory):
    image = Image.new("RGB", (700, 500), WHITE)
    pen = ImageDraw.Draw(image)
    pen.rectangle((60, 60, 640, 180), fill=RED)
    pen.rectangle((60, 300, 640, 420), fill=BLUE)
    path = tmp_path_factory.mktemp("flag") / "flag.png"
    image.save(path)
    return path


def test_a_white_stripe_that_ends_at_white_ground_is_printed_white(flag) -> None:
    relief = rs.make(flag)
    assert relief.plan.base_color == WHITE
    assert relief.plan.base.contains(shapely.box(-33, -5, 33, 5))
    assert not relief.plan.base.interiors or len(relief.plan.base.interiors) == 1  # the hanging hole
    assert relief.result.fidelity.paint_right > 0.99


def test_on_a_base_of_another_color_it_is_a_part_of_its_own(flag) -> None:
    relief = rs.make(flag, Recipe().with_values({"colors.base": "#c82828"}))
    white = next(motif for motif in relief.plan.motifs if motif.color == WHITE)
    assert white.polygon.contains(shapely.box(-33, -5, 33, 5))


def test_a_mark_opens_it(flag) -> None:
    marks = [{"kind": "open", "at_mm": [0.0, 0.0]}]
    relief = rs.make(flag, Recipe().with_values({"marks": marks}))
    assert not relief.plan.base.contains(shapely.Point(0, 0))


def test_art_without_pockets_and_channels_gets_no_entry_more() -> None:
    areas = areas_of(as_multi(shapely.box(0, 0, 60, 30)))
    found = surround(areas, background=BackgroundSettings(), flat_colors=ColorSettings())
    assert found.enclosed is None
    assert len(found.polygons) == len(found.colors) == 1

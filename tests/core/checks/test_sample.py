"""The picture in cells of the plan's frame: what each cell shows, what is outside, what is clear."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from reliefsmith.checks.sample import sample
from reliefsmith.model import Artwork, FlatAreas, Frame, Sample, Separation
from reliefsmith.recipe.sections import BackgroundSettings

RED, BLUE, WHITE = (200, 30, 40), (20, 60, 200), (255, 255, 255)
SIDE, MM_PER_PX = 40, 0.5
"""A square of red, 20 px wide, amid white; its upper left quarter is blue, its lower right has an opening."""

LABELS = np.zeros((SIDE, SIDE), np.uint8)
LABELS[10:30, 10:30] = 1
LABELS[10:20, 10:20] = 2
LABELS[24:28, 24:28] = 0
RGB = np.array([WHITE, RED, BLUE], np.uint8)[LABELS]
FRAME = Frame(MM_PER_PX, (20.0, 20.0), 0.0, (SIDE, SIDE))
OPENING = shapely.box(2, -4, 4, -2)
QUARTER = shapely.box(-5, 0, 0, 5)
SQUARE = shapely.box(-5, -5, 5, 5)


def flat(red: shapely.Geometry, blue: shapely.Geometry, colors: tuple = (RED, BLUE)) -> FlatAreas:
    shapes = tuple(
        shapely.MultiPolygon([part]) if part.area else shapely.MultiPolygon() for part in (red, blue)
    )
    return FlatAreas(shapes, np.array(colors, np.uint8), FRAME, (10.0, 10.0))


AREAS = flat(SQUARE - QUARTER - OPENING, QUARTER)
PICTURE = Artwork(RGB, np.ones((SIDE, SIDE), np.float32), (SIDE, SIDE), 1.0, False, False)
PARTED = Separation(LABELS, np.array([RED, BLUE], np.uint8), WHITE, np.array([0.7, 0.3]))
CUT_OUT = replace(PICTURE, has_alpha=True, alpha=(LABELS > 0).astype(np.float32))


def taken(
    artwork: Artwork = PICTURE,
    parted: Separation = PARTED,
    marked: FlatAreas = AREAS,
    areas: FlatAreas = AREAS,
    **background: str,
) -> Sample:
    found = sample(artwork, parted, areas, marked, BackgroundSettings(**background))
    assert found is not None
    return found


def at(found: Sample, plane: np.ndarray, x_mm: float, y_mm: float) -> object:
    """Return what a plane says at a place of the plan."""
    row, column = (int(v / found.cell_mm) for v in (found.top_mm - y_mm, x_mm - found.left_mm))
    return plane[row, column].tolist()


def test_cells_of_a_fifth_of_a_millimetre_show_what_lies_there() -> None:
    found = taken()
    assert found.cell_mm == pytest.approx(0.2)
    assert at(found, found.rgb, 4, 4) == list(RED)
    assert at(found, found.rgb, -4, 4) == list(BLUE)
    assert at(found, found.rgb, 3, -3) == list(WHITE)
    assert at(found, found.rgb, 0, 6) == list(WHITE)


def test_there_is_room_for_a_border_round_the_art() -> None:
    found = taken()
    height, width = found.outside.shape
    assert found.left_mm < -6.9
    assert found.left_mm + width * found.cell_mm > 6.9
    assert found.top_mm > 6.9
    assert found.top_mm - height * found.cell_mm < -6.9


def test_cells_of_a_large_piece_are_a_thousandth_of_its_side() -> None:
    large = replace(AREAS, size_mm=(500.0, 250.0))
    assert taken(marked=replace(large, frame=replace(FRAME, mm_per_px=25.0)), areas=large).cell_mm == 0.5


@pytest.mark.parametrize("pixels", [2, 4, 8])
def test_a_cell_shows_the_mean_of_four_pixels_each_way_at_most(pixels: int) -> None:
    """Stripes are grey; of eight pixels a cell every second one counts, so those have stripes of two."""
    side = 100 * pixels
    rgb = np.zeros((side, side, 3), np.uint8)
    rgb[:, np.arange(side) // max(pixels // 4, 1) % 2 == 0] = 255
    frame = Frame(0.2 / pixels, (side / 2, side / 2), 0.0, (side, side))
    picture = Artwork(rgb, np.ones((side, side), np.float32), (side, side), 1.0, False, False)
    parted = replace(PARTED, labels=np.ones((side, side), np.uint8))
    found = taken(picture, parted, replace(AREAS, frame=frame))
    assert {at(found, found.rgb, x, 0)[0] for x in np.arange(-4, 4, 0.37)} <= {127, 128}


def test_the_ground_outside_an_opaque_picture_has_a_color_and_beyond_it_is_none() -> None:
    found = taken()
    assert at(found, found.outside, 0, 6)
    assert not at(found, found.clear, 0, 6)
    small = replace(FRAME, origin_px=(10.0, 10.0))
    beyond = taken(marked=replace(AREAS, frame=small))
    assert at(beyond, beyond.clear, -6, 0)
    assert at(beyond, beyond.outside, -6, 0)


def test_ground_that_the_art_encloses_shows_unless_the_user_takes_it_away() -> None:
    assert not at(taken(), taken().outside, 3, -3)
    for background in ({"enclosed": "remove"}, {"color": "#ffffff"}):
        found = taken(**background)
        assert at(found, found.outside, 3, -3)
        assert not at(found, found.outside, 4, 4)


def test_what_a_cut_out_picture_leaves_transparent_is_clear_and_tints_no_edge() -> None:
    dark = CUT_OUT.rgb.copy()
    dark[LABELS == 0] = 0
    found = taken(replace(CUT_OUT, rgb=dark))
    assert at(found, found.clear, 0, 6)
    assert at(found, found.clear, 3, -3)
    assert not at(found, found.clear, 4, 4)
    seen = found.rgb[~found.clear].astype(int)
    assert np.abs(seen[:, None] - np.array([RED, BLUE])).max(axis=2).min(axis=1).max() <= 1


def test_half_transparent_art_is_seen_and_thinner_is_ground() -> None:
    for opacity, clear in ((0.6, False), (0.4, True)):
        thin = replace(CUT_OUT, alpha=np.full((SIDE, SIDE), opacity, np.float32))
        found = taken(thin, replace(PARTED, labels=np.zeros_like(LABELS)))
        assert at(found, found.clear, 0, 0) is clear


def test_a_color_that_the_user_called_otherwise_is_wanted_so() -> None:
    shown = np.array([WHITE, RED, BLUE], np.float64)
    parted = replace(PARTED, colors=np.array([(10, 160, 60), (21, 60, 201)], np.uint8), shown=shown)
    found = taken(parted=parted)
    assert at(found, found.rgb, 4, 4) == [10, 160, 60]
    assert at(found, found.rgb, -4, 4) == list(BLUE)  # a level off is noise, no other color
    assert at(found, found.rgb, 3, -3) == list(WHITE)


def test_the_picture_without_its_shadows_is_taken_where_there_is_one() -> None:
    evened = np.full_like(RGB, 90)
    found = taken(parted=replace(PARTED, evened=evened))
    assert at(found, found.rgb, 4, 4) == [90, 90, 90]


def test_areas_count_as_marks_made_them() -> None:
    found = taken(marked=flat(SQUARE - OPENING - QUARTER, shapely.Polygon()))
    assert at(found, found.outside, -4, 4)
    assert at(found, found.clear, -4, 4)
    assert not at(found, found.outside, 4, 4)
    again = taken(marked=flat(SQUARE, shapely.Polygon(), ((0, 0, 0), BLUE)), enclosed="remove")
    assert at(again, again.rgb, -4, 4) == [0, 0, 0]
    assert at(again, again.rgb, 4, 4) == [0, 0, 0]
    assert at(again, again.rgb, 3, -3) == [0, 0, 0]
    assert not at(again, again.outside, 3, -3)
    assert at(again, again.rgb, 0, 6) == list(WHITE)


def test_an_area_that_keeps_its_color_stays_as_the_picture_shows_it() -> None:
    found = taken(marked=flat(SQUARE - QUARTER - OPENING, QUARTER.buffer(-1)))
    shaded = RGB.copy()
    shaded[15, 28] = 100
    assert at(found, found.rgb, 4, 4) == list(RED)
    other = taken(replace(PICTURE, rgb=shaded), marked=flat(SQUARE - QUARTER - OPENING, QUARTER.buffer(-1)))
    assert at(other, other.rgb, 4.25, 2.25) == [100, 100, 100]


@pytest.mark.parametrize("turn", [-30.0, 90.0])
def test_a_turned_frame_finds_the_same_places(turn: float) -> None:
    """A point (X, Y) lies at the origin plus R(turn) (X, -Y) over mm a pixel: `Frame` says so."""
    found = taken(marked=replace(AREAS, frame=replace(FRAME, turn_deg=turn)))
    around = np.radians(turn)
    for x, y in ((4, 4), (-4, 3), (-3, -3.6), (1, -4)):
        right, down = x * np.cos(around) + y * np.sin(around), x * np.sin(around) - y * np.cos(around)
        pixel = RGB[int(20 + down / MM_PER_PX), int(20 + right / MM_PER_PX)]
        assert at(found, found.rgb, x, y) == pixel.tolist()


def test_a_picture_worked_at_half_its_size_gives_the_same_cells() -> None:
    double = replace(PICTURE, rgb=RGB.repeat(2, axis=0).repeat(2, axis=1), scale=2.0)
    double = replace(double, alpha=np.ones((2 * SIDE, 2 * SIDE), np.float32))
    found = taken(double, replace(PARTED, labels=LABELS.repeat(2, axis=0).repeat(2, axis=1)))
    assert (found.rgb == taken().rgb).all()
    assert (found.outside == taken().outside).all()


def test_without_the_picture_there_is_nothing_to_judge_by() -> None:
    for given in ((None, PARTED, AREAS), (PICTURE, None, AREAS), (PICTURE, PARTED, None)):
        assert sample(*given, AREAS, BackgroundSettings()) is None


def test_paint_that_a_mark_lays_on_nothing_is_no_longer_clear() -> None:
    before = taken(CUT_OUT)
    after = taken(CUT_OUT, marked=flat(SQUARE - QUARTER, QUARTER))
    assert at(before, before.clear, 3, -3)
    assert not at(after, after.clear, 3, -3)
    assert not at(after, after.clear, 4, 4)
    assert at(after, after.clear, 0, 6)

"""Pictures of the piece: what is over what, from the front and from the back, rims, shadows and hatches."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from PIL import Image
from scipy import ndimage

from reliefsmith.documents.hatch import hatch_for, hatch_plane
from reliefsmith.documents.views import (
    Face,
    back_face,
    color_picture,
    front_face,
    hatch_picture,
    rim,
    shadow_of,
)
from reliefsmith.model import ColorChange, Slab, Stack
from reliefsmith.polygons.cover import View, coverage

from .jobs import NAVY, RED, YELLOW

PLATE = shapely.box(0, 0, 20, 10)
LEFT = shapely.box(2, 2, 8, 8)


def test_the_back_is_the_mirrored_base_only(job):
    face = back_face(job.stack)
    view = View.around(face.bounds, 8.0)
    picture = np.asarray(color_picture(face, view)).astype(int)
    inside = picture[..., 3] == 255
    mask = 255 * coverage(shapely.transform(job.plan.base, lambda xy: xy * (-1, 1)), view)
    assert np.abs(picture[..., 3] - mask).max() <= 1
    inside = ndimage.binary_erosion(inside, iterations=8)  # 1 mm of lit and shaded rim left out
    nearest = [np.abs(picture[inside][:, :3] - np.array(color)).sum(axis=1) for color in (NAVY, RED, YELLOW)]
    assert (np.argmin(nearest, axis=0) == 0).all()


def test_stepped_levels_are_seen_from_the_highest_down():
    square, inner = shapely.box(0, 0, 20, 20), shapely.box(5, 5, 15, 15)
    slabs = (
        Slab("yellow", "motif", YELLOW, inner, 1.4, 1.8),
        Slab("base", "base", NAVY, square, 0.0, 1.0),
        Slab("red", "motif", RED, square, 1.0, 1.4),
    )
    stack = Stack(slabs, (1.0, 1.4, 1.8), (ColorChange(2, 1.0, RED),), by_height=True)
    picture = np.asarray(color_picture(front_face(stack), View.around(square.bounds, 10.0)))
    assert tuple(picture[100, 100, :3]) == YELLOW
    assert tuple(picture[20, 20, :3]) == RED


def _stack(*slabs: Slab) -> Stack:
    return Stack(slabs, (2.0, 2.6), (), True)


FLAT = _stack(Slab("base", "base", NAVY, PLATE, 0.0, 2.0), Slab("red", "motif", RED, LEFT, 2.0, 2.6))


def test_what_lies_higher_takes_from_what_is_seen_below_it() -> None:
    face = front_face(FLAT)
    assert face.parts == (0, 1)
    assert [shape.area for shape in face.shapes] == [200, 36]
    assert [shape.area for shape in face.visible] == [164, 36]
    assert face.levels_mm == (2.0, 2.6)
    assert face.bounds == (0, 0, 20, 10)


def test_what_reaches_highest_is_over_all_wherever_it_begins() -> None:
    rim = Slab("base", "base", NAVY, shapely.box(0, 0, 4, 10), 0.0, 3.0)
    face = front_face(_stack(rim, Slab("red", "motif", RED, LEFT, 2.0, 2.6)))
    assert face.parts == (1, 0)
    assert [shape.area for shape in face.visible] == [24, 40]


def test_from_the_back_the_lowest_is_last_and_left_is_right() -> None:
    face = back_face(FLAT)
    assert face.parts == (1, 0)
    assert [shape.area for shape in face.visible] == [0, 200]
    assert face.bounds == (-20, 0, 0, 10)
    through = _stack(
        Slab("base", "base", NAVY, PLATE.difference(LEFT), 0.0, 2.0),
        Slab("red", "motif", RED, LEFT, 0.0, 2.0),
    )
    assert sorted(shape.area for shape in back_face(through).visible) == [36, 164]


@pytest.mark.parametrize("angle", [0.0, 90.0, 33.0])
def test_a_face_turns_counter_clockwise_about_a_point(angle: float) -> None:
    turned = front_face(FLAT).turned(angle, (5.0, 5.0))
    assert [shape.area for shape in turned.visible] == pytest.approx([164, 36])
    about = shapely.Point(turned.shapes[1].centroid)
    assert (about.x, about.y) == pytest.approx((5, 5))
    if angle == 90.0:
        assert turned.bounds == pytest.approx((0, 0, 10, 20))
    mirrored = front_face(FLAT).mirrored().mirrored()
    assert mirrored.bounds == front_face(FLAT).bounds


def test_a_picture_is_transparent_round_the_piece_and_shaded_at_its_rims_only() -> None:
    view = View(-5.0, 15.0, 10.0, (300, 200))
    pixels = np.asarray(color_picture(front_face(FLAT), view)).astype(int)
    assert (pixels[..., 3] > 0).sum() == 200 * 100
    assert tuple(pixels[100, 100, :3]) == RED
    assert tuple(pixels[100, 200, :3]) == NAVY
    lit, dim = pixels[50, 150, :3], pixels[149, 150, :3]  # upper and lower rim of the base
    assert lit.sum() > sum(NAVY) > dim.sum()
    below, above = pixels[133, 130, :3], pixels[67, 67, :3]  # beside the motif: in its shadow, and not
    assert below.sum() < above.sum() == sum(NAVY)


def test_a_face_beside_the_window_is_nothing() -> None:
    view = View(100.0, 100.0, 10.0, (50, 50))
    assert not np.asarray(color_picture(front_face(FLAT), view)).any()


@pytest.mark.parametrize("scale", [10.0, 20.0])
def test_a_shadow_falls_to_the_lower_right_and_is_softer_than_the_piece(scale: float) -> None:
    picture = Image.new("RGBA", (200, 200))
    picture.paste((0, 0, 0, 255), (60, 60, 120, 120))
    alpha = np.asarray(shadow_of(picture, scale))[..., 3].astype(float)
    rows, columns = ndimage.center_of_mass(alpha)
    assert rows - 89.5 == pytest.approx(0.7 * scale, abs=0.6)
    assert columns - 89.5 == pytest.approx(0.35 * scale, abs=0.6)
    assert 0 < alpha.max() <= 255 * 0.27


def test_a_rim_is_the_outline_just_inside() -> None:
    plane = np.zeros((40, 40), np.float32)
    plane[10:30, 5:35] = 1
    found = rim(plane, 3)
    wanted = plane.copy()
    wanted[13:27, 8:32] = 0
    assert np.array_equal(found, wanted)
    assert np.array_equal(rim(plane, 60), plane)


def test_parts_are_told_apart_by_their_hatches_as_on_paper() -> None:
    view = View(0.0, 10.0, 10.0, (200, 100))
    grey = np.asarray(hatch_picture(front_face(FLAT), view, 20.0))[..., 0].astype(float)
    inside = (slice(30, 70), slice(30, 70))  # of the second part
    ink = hatch_plane(hatch_for(2), (200, 100), 20.0)[inside]
    assert grey[inside] == pytest.approx(255 * (1 - 0.82 * ink), abs=1.0)
    assert (grey[30:70, 120:180] == 255).all()  # the first pattern is plain


def test_a_face_keeps_its_colors_when_it_is_changed() -> None:
    face = Face((PLATE,), (PLATE,), (0,), (RED,), (2.0,))
    assert face.mirrored().colors == face.turned(3, (0, 0)).colors == (RED,)

"""Texts set in mm: at a point, in a box, in the room that takes them largest; turned, mirrored, refused."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.errors import GeometryError
from reliefsmith.plan.inscriptions.compose import LEAST_SIZE_MM, Composer, turned_shape
from reliefsmith.plan.strokes.leastwidths import Limits
from reliefsmith.polygons import on_grid
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import Inscription
from reliefsmith.walk.inputs import as_fonts

from .texts import with_texts

LIMITS = Limits.of(Recipe().motif, Recipe().printer)
(SANS,) = as_fonts(Recipe().with_values({"lettering": [{"text": "a"}]}))


def composer(text: str = "Mira", **more: object) -> Composer:
    return Composer(3, Inscription(text, **more), SANS, LIMITS)


def middle_of(shape: shapely.Geometry) -> np.ndarray:
    return np.reshape(shape.bounds, (2, 2)).mean(axis=0)


@settings(max_examples=15)
@given(st.floats(-180, 180), st.booleans())
def test_a_shape_is_turned_as_it_reads_and_then_mirrored(turn: float, mirrored: bool) -> None:
    """Against shapely's own rotation and scaling."""
    shape = shapely.Polygon([(0, 0), (4, 0), (0, 1)])
    wanted = shapely.affinity.rotate(shape, turn, origin=(0, 0))
    wanted = shapely.affinity.scale(wanted, -1, 1, origin=(0, 0)) if mirrored else wanted
    found = turned_shape(shape, turn, mirrored=mirrored)
    assert shapely.get_coordinates(found) == pytest.approx(shapely.get_coordinates(wanted), abs=1e-12)


def test_a_box_is_turned_about_its_middle() -> None:
    box = composer(box_mm=(10, 4, 20, 6), turn_deg=30).box
    assert box.equals_exact(shapely.affinity.rotate(shapely.box(10, 4, 30, 10), 30), 1e-9)
    assert composer(at_mm=(0, 0)).box is None


def test_at_its_point_a_text_has_its_size_or_the_usual_one() -> None:
    made = composer("HH", at_mm=(7, -3), size_mm=6.0).given()
    assert middle_of(made.letters) == pytest.approx([7, -3], abs=0.01)
    assert made.letters.bounds[3] - made.letters.bounds[1] == pytest.approx(6.0, abs=0.01)
    assert (made.size_mm, made.at_mm) == (6.0, (7, -3))
    assert on_grid(made.letters)
    assert composer("HH", at_mm=(7, -3)).given().size_mm == 5.0


@pytest.mark.parametrize("more", [{"turn_deg": 20.0}, {"turn_deg": 20.0, "mirror": True}, {"align": "left"}])
def test_the_place_of_a_text_in_a_box_is_the_point_at_which_it_would_stand_alike(more: dict) -> None:
    made = composer("HOT", box_mm=(10, 4, 30, 6), **more).given()
    size = {"size_mm": made.size_mm}
    again = composer("HOT", at_mm=made.at_mm, **size, **{**more, "align": "center"}).given()
    assert again.letters.symmetric_difference(made.letters).area < 0.02 * made.letters.area


def test_a_text_that_is_stamped_or_read_from_behind_is_mirrored_about_its_point() -> None:
    plain = composer("LF", at_mm=(7, -3)).given().letters
    for more in ({"mirror": True}, {"place": "back"}):
        other = composer("LF", at_mm=(7, -3), **more)
        assert other.is_mirrored
        flipped = shapely.affinity.scale(other.given().letters, -1, 1, origin=(7, -3))
        assert flipped.symmetric_difference(plain).area < 0.01


def test_touching_letters_are_set_into_each_other_by_a_quarter_of_a_stroke() -> None:
    assert composer(letters="touching").type_of(5.0, lambda shape: shape).overlap_mm == LIMITS.stroke / 4
    assert composer().type_of(5.0, lambda shape: shape).overlap_mm == 0.0
    (word,) = shapely.get_parts(composer("MUM", at_mm=(0, 0), letters="touching").given().letters)
    assert word.is_valid


def test_it_is_set_in_the_room_that_takes_it_largest() -> None:
    narrow, wide = shapely.box(0, 0, 8, 3), shapely.box(20, 0, 60, 12)
    made = composer("HOT").largest([narrow, wide])
    assert shapely.covers(wide, made.letters)
    assert made.size_mm > composer("HOT").largest([narrow]).size_mm


@pytest.mark.parametrize(
    ("rooms", "words"),
    [
        ([], "there is no free area for text 3; print the piece larger"),
        (
            [shapely.box(0, 0, 2, 1)],
            f"text 3 does not fit into the free area with capitals of {LEAST_SIZE_MM:g} mm",
        ),
    ],
)
def test_what_fits_nowhere_is_refused(rooms: list[shapely.Polygon], words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        composer("Larkwater").largest(rooms)


def test_a_size_that_is_asked_is_kept_or_refused() -> None:
    room = shapely.box(0, 0, 30, 10)
    assert composer("HOT", size_mm=4.0).within(room, "its box").size_mm == 4.0
    with pytest.raises(GeometryError, match="with capitals of 12 mm; shorten it, take a smaller size_mm, or"):
        composer("HOT", size_mm=12.0).within(room, "its box")


def test_on_the_back_a_text_stays_within_the_room() -> None:
    room = shapely.box(-20, -10, 20, 10)
    free = composer("HOT", place="back").inside(room)
    assert shapely.covers(room, free.letters)
    placed = composer("HOT", place="back", at_mm=(10, 0)).inside(room)
    assert placed.at_mm == (10, 0)
    with pytest.raises(GeometryError, match=r"text 3 on the back comes too near .* \((1[5-9]|2\d)\.\d, "):
        composer("HOT", place="back", at_mm=(17, 0)).inside(room)


def test_marks_of_direction_in_a_text_show_nothing_and_change_nothing() -> None:
    plain, marked = (
        composer(text, at_mm=(5, 0)).given().letters for text in ("Mirabel", "Mira\u200ebel\u200f")
    )
    assert shapely.equals(marked, plain)


@pytest.mark.parametrize("place", ["front", "back"])
def test_lines_of_a_text_stand_under_each_other(place: str) -> None:
    more = {"place": place, "at_mm": (5, 0), "size_mm": 4.0}
    one = composer("Larkwater", **more).given()
    two = composer("Larkwater | Larkwater", **more).given()
    assert len(two.letters.geoms) == 2 * len(one.letters.geoms)
    upper, lower = (
        shapely.MultiPolygon([piece for piece in two.letters.geoms if (piece.centroid.y > 0) == up])
        for up in (True, False)
    )
    pitch = 1.7 * 4.0 + 0.5  # 1.2 times the size of the font, and the least gap
    for line, moved in ((upper, pitch / 2), (lower, -pitch / 2)):
        assert line.bounds == pytest.approx(np.add(one.letters.bounds, [0, moved, 0, moved]), abs=0.002)
    assert upper.distance(lower) >= 0.5


def test_without_a_place_a_text_is_as_large_as_the_widest_area_takes() -> None:
    plan = with_texts({"text": "Mirabel"})
    (text,) = plan.texts
    room = shapely.box(-20, -19, 29, 19).buffer(-0.5)
    assert shapely.covers(room, text.letters)
    width, height = np.subtract(text.letters.bounds[2:], text.letters.bounds[:2])
    assert width > 0.97 * 48 or height > 0.97 * 37


@pytest.mark.parametrize("where", [{"area_mm": [-24, 0]}, {"area_mm": [-24, 0], "turn_deg": 90}])
def test_a_text_fills_the_area_of_its_point(where: dict) -> None:
    (text,) = with_texts({"text": "Ada", **where}).texts
    assert shapely.covers(shapely.box(-28, -18, -20, 18), text.letters)
    turned = "turn_deg" in where
    assert (text.size_mm > 4) == turned  # upright it has 8 mm, turned 36


@pytest.mark.parametrize("align", ["left", "center", "right"])
def test_a_box_holds_its_text_at_the_side_that_is_asked(align: str) -> None:
    (text,) = with_texts({"text": "Bo", "box_mm": [-15, -5, 30, 6], "align": align}).texts
    left, low, right, high = text.letters.bounds
    assert shapely.box(-15.001, -5.001, 15.001, 1.001).contains(shapely.box(left, low, right, high))
    gaps = {"left": left + 15, "right": 15 - right, "center": abs(left + right) / 2}
    assert gaps[align] < 0.01
    assert high - low > 0.97 * 6

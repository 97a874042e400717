"""Letters along a line or a circle: apart by the gap or into one another, from a face of known bars too."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from reliefsmith.errors import RecipeError
from reliefsmith.polygons import as_multi
from reliefsmith.recipe.sections import SHIPPED_FONTS
from reliefsmith.typeset.along import Arc, Line, set_along, share_before
from reliefsmith.typeset.fonts import face_of
from reliefsmith.typeset.standing import Type
from typefaces import shipped

from .madefonts import bars

FONTS = list(SHIPPED_FONTS)
SIZE = 7.0  # of the made face: 0.01 mm a unit, so H is a bar of 2 x 7 mm and its advance 2.4 mm
BARS = Type(face_of(bars()), SIZE, 0.3)


def test_letters_stand_apart_by_the_gap_whatever_the_kerning() -> None:
    for word in FONTS:
        how = Type(face_of(shipped(word)), 4.0, 0.5)
        for text in ("LARKWATER", "AVATAR", "rtf Ty", "Marabel 7"):
            pieces = shapely.get_parts(set_along(text, how, Line(4.0)))
            letters = [piece for piece in pieces if piece.area > 0.8]  # without dots and commas
            gaps = [one.distance(other) for i, one in enumerate(letters) for other in letters[:i]]
            assert min(gaps) >= 0.5 - 1e-9


@pytest.mark.parametrize("word", FONTS)
@pytest.mark.parametrize("size", [2.5, 5.0, 12.0])
def test_touching_letters_are_one_shape_and_words_stay_apart(word: str, size: float) -> None:
    how = Type(face_of(shipped(word)), size, 0.5, overlap_mm=0.15)
    for text in ("LARKWATER", "AVATAR", "MARABEL", "Tom", "Lu"):
        assert len(set_along(text, how, Line(size)).geoms) == 1, text
        apart = set_along(text, replace(how, overlap_mm=0.0), Line(size))
        assert len(apart.geoms) == len(text)
        assert set_along(text, how, Line(size)).bounds[2] < apart.bounds[2]
    assert len(set_along("TAW VAL", how, Line(size)).geoms) == 2


def test_touching_letters_reach_so_far_into_one_another() -> None:
    how = Type(face_of(shipped("sans")), 5.0, 0.5, overlap_mm=0.15)
    single = set_along("H", how, Line(5.0)).bounds
    pair = set_along("HH", how, Line(5.0)).bounds
    assert pair[2] - pair[0] == pytest.approx(2 * (single[2] - single[0]) - 0.15, abs=2e-3)


def test_joined_letters_that_break_are_named_as_they_are_read() -> None:
    how = Type(face_of(shipped("sans")), 5.0, 0.5)
    with pytest.raises(RecipeError, match="letters of '\u0644\u0633\u0644\u0627' break on this arc"):
        set_along("\u0627\u0644\u0633\u0644\u0627\u0645", how, Arc(8.0, 5.0, is_below=False))


def _middles(shape: shapely.MultiPolygon) -> list[tuple[float, float]]:
    middles = [(piece.centroid.x, piece.centroid.y) for piece in shape.geoms]
    return sorted(middles)


def test_the_advance_of_the_font_is_kept_where_it_leaves_the_gap_and_the_gap_where_not() -> None:
    """Bars of 2 mm, 2.4 mm apart by the font: 0.4 mm between them, more than 0.3 and less than 0.9."""
    for gap, step in ((0.3, 2.4), (0.9, 2.9)):
        x = [place[0] for place in _middles(set_along("HHH", replace(BARS, gap_mm=gap), Line(SIZE)))]
        assert np.diff(x) == pytest.approx([step, step], abs=1e-3)
        assert sum(x) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    ("align", "ends"), [("left", (0, 9.2)), ("center", (-4.6, 4.6)), ("right", (-9.2, 0))]
)
def test_the_ink_lies_with_its_left_middle_or_right_at_the_anchor(
    align: str, ends: tuple[float, float]
) -> None:
    """Four bars: three advances of 2.4 mm and a bar of 2, halfway up at the anchor."""
    left, low, right, high = set_along("HHHH", BARS, Line(SIZE), align).bounds
    assert (left, right) == pytest.approx(ends)
    assert (low, high) == pytest.approx((-SIZE / 2, SIZE / 2))
    assert share_before(align) * (right - left) == pytest.approx(-left)


@pytest.mark.parametrize("is_below", [False, True])
def test_letters_on_a_circle_stand_upright_on_it_evenly_turned(is_below: bool) -> None:
    """Above, feet lie on the circle and advances are measured there; below, halfway up, that far nearer."""
    radius = 120.0
    step = 2.4 / (radius - SIZE / 2 if is_below else radius)
    shape = set_along("HHH", BARS, Arc(radius, SIZE, is_below))
    off = radius - SIZE / 2 if is_below else radius + SIZE / 2
    middles = np.array(_middles(shape))
    assert np.hypot(*middles.T) == pytest.approx([off] * 3, abs=0.02)
    turns = np.arctan2(middles[:, 0], np.abs(middles[:, 1]))
    assert np.diff(turns) == pytest.approx([step] * 2, rel=0.01)
    assert (middles[:, 1] < 0).all() == is_below
    assert (middles[:, 1] > 0).all() != is_below


def test_left_and_right_of_a_circle_mirror_each_other() -> None:
    arc = Arc(20.0, SIZE, is_below=False)
    left, middle, right = (set_along("HH", BARS, arc, align) for align in ("left", "center", "right"))
    mirrored = shapely.transform(left, lambda points: points * (-1, 1))
    assert shapely.hausdorff_distance(mirrored.convex_hull, right.convex_hull) < 0.5  # the last advance's air
    assert left.bounds[0] > -0.1 > -1.5 > middle.bounds[0]
    assert middle.area == pytest.approx(left.area)


def test_a_text_longer_than_its_circle_is_told_the_radius_that_takes_it() -> None:
    arc = Arc(3.0, SIZE, is_below=False)
    with pytest.raises(RecipeError, match=r"longer than the circle .* more than (\d+) mm") as caught:
        set_along("H" * 10, BARS, arc)
    told = float(str(caught.value).split("more than ")[1].split(" mm")[0])
    assert told == pytest.approx(10 * 2.4 / (2 * math.pi), abs=0.6)
    assert len(set_along("H" * 10, BARS, replace(arc, radius_mm=told + 1)).geoms) == 10


def test_what_draws_nothing_is_refused_and_a_space_only_moves_on() -> None:
    with pytest.raises(RecipeError, match="draws nothing"):
        set_along("\u2003", Type(face_of(bars(space=0x2003)), SIZE, 0.3), Line(SIZE))
    apart = [place[0] for place in _middles(set_along("H H", BARS, Line(SIZE)))]
    assert apart[1] - apart[0] == pytest.approx(2.4 + 3.0)
    apart = [place[0] for place in _middles(set_along("HHH H", replace(BARS, gap_mm=0.9), Line(SIZE)))]
    assert apart[3] - apart[2] == pytest.approx(2.4 + 3.0)  # from where the one before was moved on to


def test_a_letter_that_meets_nothing_stays_where_the_font_puts_it() -> None:
    """A point above the bars: to move it back until it touches is no way to a word of one shape."""
    how = replace(BARS, overlap_mm=0.15)
    plain, overlapped = (_middles(set_along("Hi", one, Line(SIZE))) for one in (BARS, how))
    assert np.array(overlapped) == pytest.approx(np.array(plain))


def test_what_is_printed_of_letters_is_set_apart_not_what_the_font_draws() -> None:
    how = Type(BARS.face, SIZE, 0.3, as_printed=_wider)
    x = [place[0] for place in _middles(set_along("HH", how, Line(SIZE)))]
    assert x[1] - x[0] == pytest.approx(2.0 + 2 * 0.25 + 0.3, abs=1e-3)


@pytest.mark.parametrize("path", [Line(SIZE), Arc(40.0, SIZE, is_below=False)])
def test_joined_letters_are_printed_as_one(path: Line | Arc) -> None:
    """B is wider than its advance, so two of them are one shape, on a line and bent."""
    plain = set_along("BB", BARS, path)
    printed = set_along("BB", replace(BARS, as_printed=_wider), path)
    assert len(plain.geoms) == len(printed.geoms) == 1
    assert shapely.hausdorff_distance(printed, _wider(plain)) < 0.02


def test_letters_that_touch_by_design_are_set_no_further_into_one_another() -> None:
    left, _, right, _ = set_along("BB", replace(BARS, overlap_mm=0.15), Line(SIZE)).bounds
    assert right - left == pytest.approx(2 * 2.4 + 2 * 0.2)


def test_letters_that_touch_only_on_their_circle_are_one_shape() -> None:
    """Below, heads lean together: set straight, the same letters would stand apart."""
    assert len(set_along("HHH", replace(BARS, overlap_mm=0.15), Arc(20.0, SIZE, is_below=True)).geoms) == 1


def _wider(shape: shapely.MultiPolygon) -> shapely.MultiPolygon:
    return as_multi(shape.buffer(0.25, join_style="mitre"))

"""Outlines of glyphs: chords against the curves they are of, pieces and holes of letters counted by eye."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.errors import RecipeError
from reliefsmith.recipe.sections import SHIPPED_FONTS
from reliefsmith.typeset.along import Line, set_along
from reliefsmith.typeset.fonts import face_of
from reliefsmith.typeset.glyphs import FLAT_MM, filled, glyph_shape, tolerance_for
from reliefsmith.typeset.standing import Type
from typefaces import shipped

from .madefonts import CAP, bars, comb, drop

FONTS = list(SHIPPED_FONTS)
# Outer pieces and holes, by the look of the letters in any plain sans; marks count as pieces.
PIECES = {
    1: "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789abcdefghklmnopqrstuvwxyz&-.,'/()[]+ØøÇçß$#@",
    2: 'ij!?:;="éåñÁ',
    3: "Üöë",
}
HOLES = {
    0: "CEFGHIJKLMNSTUVWXYZ12357cfhijklmnrstuvwxyz-.,/()!?:;=ç",
    1: "ADOPQR069abdegopqéÁëö",
    2: "B8Øøå",
}
OPEN = {("rounded", "B"): 1, ("rounded", "4"): 0, ("rounded", "ø"): 1}  # by design


@pytest.mark.parametrize("word", FONTS)
@pytest.mark.parametrize("size", [2.0, 5.0, 20.0])
def test_chords_lie_within_five_thousandths_of_the_curves(word: str, size: float) -> None:
    face = face_of(shipped(word))
    scale = size / face.cap
    for char in "S&8Ø@":
        number = face.font.get_nominal_glyph(ord(char))
        coarse, fine = glyph_shape(face, number, tolerance_for(1 / scale)), glyph_shape(face, number, 0.01)
        assert shapely.hausdorff_distance(coarse.boundary, fine.boundary) * scale <= FLAT_MM


@pytest.mark.parametrize("word", FONTS)
def test_pieces_and_holes_of_letters(word: str) -> None:
    face = face_of(shipped(word))
    for count, chars in PIECES.items():
        for char in chars:
            assert _pieces(face, char)[0] == count, char
    for count, chars in HOLES.items():
        for char in chars:
            assert _pieces(face, char)[1] == OPEN.get((word, char), count), char


def _pieces(face, char: str) -> tuple[int, int]:
    shape = set_along(char, Type(face, 5.0, 0.5), Line(5.0))
    return len(shape.geoms), sum(len(piece.interiors) for piece in shape.geoms)


def test_rings_that_cross_are_filled_by_the_non_zero_rule() -> None:
    turns = np.array([90, 234, 18, 162, 306]) * np.pi / 180
    star = np.column_stack([np.cos(turns), np.sin(turns)])
    shape = filled([star])  # a pentagram: its middle is wound round twice
    assert len(shape.geoms) == 1
    assert not shape.geoms[0].interiors
    square = np.array([[0, 0], [9, 0], [9, 9], [0, 9]], dtype=float)
    inner = square[::-1] / 3 + 3
    assert filled([square, inner]).area == 72
    assert filled([square, inner[::-1]]).area == 81


@given(st.floats(1.0, 1e5))
def test_a_tolerance_is_the_largest_power_of_two_below_five_thousandths(units: float) -> None:
    tolerance = tolerance_for(units)
    assert tolerance <= FLAT_MM * units < 2 * tolerance
    assert np.log2(tolerance) % 1 == 0


@pytest.mark.parametrize("cubic", [False, True])
@pytest.mark.parametrize("tolerance", [0.5, 4.0, 32.0])
def test_a_parabola_is_cut_as_coarsely_as_its_tolerance_allows(tolerance: float, cubic: bool) -> None:
    """Of y = 4 h t (1 - t) a chord over a step s of t misses h s^2 at most; it is 900 wide and 450 high."""
    shape = glyph_shape(face_of(drop(cubic=cubic)), 1, tolerance)
    points = shapely.get_coordinates(shape.boundary)
    steps = len(np.unique(points, axis=0)) - 1
    assert 450 / steps**2 <= tolerance < 450 / (steps - 1) ** 2
    share = points[:, 0] / 900
    assert points[:, 1] == pytest.approx(4 * 450 * share * (1 - share), abs=0.51)


def test_a_polygon_is_drawn_as_it_is_and_a_space_is_empty() -> None:
    face = face_of(bars())
    bar = glyph_shape(face, face.font.get_nominal_glyph(ord("H")), 1.0)
    assert bar.equals(shapely.box(20, 0, 220, CAP))
    assert glyph_shape(face, face.font.get_nominal_glyph(ord(" ")), 1.0).is_empty


def test_what_is_no_ring_encloses_nothing() -> None:
    assert filled([]).is_empty
    assert filled([np.array([[0.0, 0.0], [5.0, 5.0]])]).is_empty
    triangle = np.array([[0.0, 0.0], [6.0, 0.0], [0.0, 6.0]])
    assert filled([triangle, triangle[:2]]).area == filled([triangle[::-1]]).area == 18


def test_a_glyph_of_too_many_points_is_refused() -> None:
    assert glyph_shape(face_of(comb(9_000)), 1, 1.0).area > 0
    with pytest.raises(RecipeError, match="more than 20000 points"):
        glyph_shape(face_of(comb(21_000)), 1, 1.0)

"""Letters by themselves in mm: joined ones together, as printed, each place and size by hand."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.typeset.fonts import face_of
from reliefsmith.typeset.shaping import shaped
from reliefsmith.typeset.standing import Type, drawn_letters, letter_mm, moved, standing, units_of
from typefaces import shipped

from .madefonts import CAP, bars, drop

SIZE = 3.5  # 0.005 mm a unit: H is a bar of 1 x 3.5 mm that begins 0.1 mm from its start, its advance 1.2
BARS = Type(face_of(bars()), SIZE, 0.3)
ARABIC = "\u0633\u0644\u0645"  # seen, lam, meem: all three are joined


def test_a_unit_of_the_font_is_the_size_over_the_height_of_capitals() -> None:
    assert BARS.scale == SIZE / CAP
    (letter,) = shaped(BARS.face, "H")
    assert letter_mm(letter, BARS.face, BARS.scale).bounds == pytest.approx((0.1, 0.0, 1.1, SIZE))
    twice = letter_mm(letter, BARS.face, 2 * BARS.scale)
    assert twice.bounds == pytest.approx((0.2, 0.0, 2.2, 2 * SIZE))


def test_letters_apart_are_units_of_their_own_with_their_advances() -> None:
    units = units_of(shaped(BARS.face, "HH H"), BARS)
    assert [len(unit.letters) for unit in units] == [1, 1, 1, 1]
    assert [unit.advance for unit in units] == pytest.approx([1.2, 1.2, 1.5, 1.2])
    assert {start for unit in units for _, start in unit.letters} == {0.0}


def test_letters_that_touch_are_one_unit_and_a_space_parts_them() -> None:
    """B is a bar wider than its advance by 0.1 mm on both sides, so it touches what begins at its end."""
    units = units_of(shaped(BARS.face, "BBB HB"), BARS)
    assert [len(unit.letters) for unit in units] == [3, 1, 2]
    assert [start for _, start in units[0].letters] == pytest.approx([0.0, 1.2, 2.4])
    assert units[0].advance == pytest.approx(3.6)
    joined = standing(units[0].letters, BARS)
    assert len(joined.geoms) == 1
    assert joined.bounds == pytest.approx((-0.1, 0.0, 3.7, SIZE))


@pytest.mark.parametrize("size", [2.0, 9.0])
def test_which_letters_are_joined_is_the_same_in_every_size(size: float) -> None:
    how = Type(face_of(shipped("sans")), size, 0.5)
    (unit,) = units_of(shaped(how.face, ARABIC), how)
    assert len(unit.letters) == 3
    assert len(units_of(shaped(how.face, "Kite"), how)) == 4


def test_each_letter_of_a_text_is_drawn_once_as_printed() -> None:
    assert len(drawn_letters("HOH HO", BARS)) == 2
    grown = Type(BARS.face, SIZE, 0.3, as_printed=_grown)
    for plain, printed in zip(drawn_letters("HO", BARS), drawn_letters("HO", grown), strict=True):
        assert printed.equals(_grown(plain))
    assert drawn_letters(" ", grown) == []


def _grown(shape: shapely.MultiPolygon) -> shapely.MultiPolygon:
    return shapely.MultiPolygon([shapely.box(*shape.bounds).buffer(0.25, join_style="mitre")])


def test_a_moved_shape_keeps_its_own() -> None:
    shape = shapely.MultiPolygon([shapely.box(0, 0, 2, 1)])
    assert moved(shape, 3, -4).bounds == (3, -4, 5, -3)
    assert shape.bounds == (0, 0, 2, 1)


@pytest.mark.parametrize("size", [1.5, 6.0, 40.0])
def test_curves_are_as_fine_as_their_size_needs(size: float) -> None:
    """Chords of a parabola of height h miss it by h / n^2: 5 um at most, a quarter of that at least."""
    face = face_of(drop(cubic=False))
    (letter,) = shaped(face, "H")
    shape = letter_mm(letter, face, size / face.cap)
    steps = len(shapely.get_coordinates(shape)) - 2
    missed = shape.bounds[3] / steps**2
    assert 0.005 / 4 * (1 - 2 / steps) <= missed <= 0.005

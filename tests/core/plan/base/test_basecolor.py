"""Which color the base has: asked for, by contact, on a plate, by what would vanish, or one of its own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from reliefsmith.colorimetry.difference import SAME_COLOR, differences
from reliefsmith.plan.base.basecolor import FAR_DIFFERENCE, base_color, same_color
from reliefsmith.plan.base.ground import Art
from reliefsmith.recipe import Recipe

from ..arts import BLACK, BLUE, CREAM, RED, RING, WHITE, YELLOW, codes, flat, on_paper, outlined

Color = tuple[int, int, int]


def art(*painted: tuple[Color, shapely.Geometry], **more: object) -> Art:
    """Return a picture of colors, later ones over earlier ones."""
    areas = flat(*painted)
    colors = tuple((int(red), int(green), int(blue)) for red, green, blue in areas.colors)
    return Art(areas.polygons, colors, **more)


FIELD = shapely.box(-10, -10, 10, 10)


def test_one_color_stands_on_a_base_that_sets_it_off():
    assert outlined(flat((BLACK, FIELD))).base_color == WHITE
    light = outlined(flat((WHITE, FIELD)))
    assert max(light.base_color) < 60
    assert light.base_is_extra
    assert "base-color-added" in codes(light.notes)


def test_one_color_lies_on_the_color_of_its_ground_or_on_one_that_sets_it_off() -> None:
    bar = shapely.box(0, 0, 20, 5)
    assert outlined(replace(flat((BLUE, bar)), ground=CREAM)).base_color == CREAM
    assert outlined(replace(flat((YELLOW, bar)), ground=BLUE)).base_color == BLUE
    near = outlined(replace(flat((WHITE, bar)), ground=(225, 225, 222)))
    assert max(near.base_color) < 60


@pytest.mark.parametrize("shade", range(60, 140, 8))
def test_one_color_lies_on_its_ground_from_a_difference_of_20_on(shade: int) -> None:
    """Grey on a grey of 100; what is nearer than CIEDE2000 20 goes onto white or near black."""
    ground, color = (100, 100, 100), (shade, shade, shade)
    chosen = base_color(art((color, FIELD), ground=ground), FIELD)
    is_plain = differences(color, [ground])[0] >= FAR_DIFFERENCE
    assert chosen.color == ground if is_plain else chosen.color in (WHITE, (26, 26, 26))
    assert chosen.index is None
    (said,) = chosen.notes
    assert "the artwork has one color" in said.message


def test_ink_lines_are_not_the_base_but_an_outline_round_fields_is():
    rays = [shapely.LineString([(0, 0), end]).buffer(0.4) for end in ((20, 3), (-15, 12), (2, -18))]
    ink = shapely.union_all(rays)
    spot = shapely.Point(3, -8).buffer(1.0)
    drawing = outlined(flat((BLACK, ink), (RED, spot)))
    assert drawing.base_color != BLACK
    field = shapely.Point(0, 0).buffer(15)
    badge = outlined(flat((BLACK, field.buffer(1.0)), (YELLOW, field), (RED, shapely.Point(0, 0).buffer(5))))
    assert badge.base_color == BLACK
    assert not badge.base_is_extra


@pytest.mark.parametrize(("wide", "is_base"), [(2.0, False), (3.0, True)])
def test_a_color_whose_lines_a_border_would_drown_is_not_the_base(wide: float, is_base: bool) -> None:
    """A bar is thin where no disc of 2.4 mm lies in it; it faces the background with all of its edge."""
    bar, spot = shapely.box(-20, 0, 20, wide), shapely.Point(0, 20).buffer(3)
    chosen = base_color(art((BLUE, bar), (RED, spot)), shapely.union(bar, spot).buffer(1))
    assert chosen.color == (BLUE if is_base else RED)


def test_the_color_with_the_longest_contact_with_the_background_is_the_base():
    left, right = shapely.box(-10, -10, 2, 10), shapely.box(2, -10, 10, 10)
    assert outlined(flat((RED, left), (BLUE, right))).base_color == RED
    assert outlined(flat((BLUE, right), (RED, left))).base_color == RED  # not the order of the colors


def test_a_usual_base_on_which_no_edge_is_lost_stays_whatever_has_the_longer_contact() -> None:
    """A base of just the art, without a border, loses no edge in any color; thin lines still are none."""
    lines = shapely.union_all([shapely.box(x, 14, x + 1, 40) for x in range(-20, 21, 4)])
    block = shapely.box(-10, -10, 10, 10)
    opaque = art((RED, lines), (BLUE, block), ground=CREAM)
    assert base_color(opaque, shapely.union(lines, block)).color == BLUE


def test_a_disc_of_many_points_is_solid_too() -> None:
    """Of more than 4,000 points only the rim is opened, as far in as discs at the rim reach."""
    disc, spot = shapely.Point(0, 0).buffer(20, 1200), shapely.Point(0, 30).buffer(3)
    assert base_color(art((BLUE, disc), (RED, spot)), shapely.union(disc, spot).buffer(1)).color == BLUE


def test_of_equal_contacts_the_larger_color_wins_and_then_the_darker() -> None:
    left, right = shapely.box(-10, -5, 0, 5), shapely.box(0, -5, 10, 5)
    for colors in ((RED, BLUE), (BLUE, RED)):
        pair = art(*zip(colors, (left, right), strict=True))
        assert base_color(pair, shapely.union(left, right)).color == BLUE
    hole = shapely.box(2, -3, 8, 3)
    ring = art((BLUE, right), (WHITE, hole), (RED, left))
    assert base_color(ring, shapely.union(left, right)).color == RED


def test_on_a_plate_the_figure_keeps_its_outline():
    figure, eye = shapely.Point(0, 0).buffer(10), shapely.Point(0, 0).buffer(3)
    areas = flat((RED, figure), (YELLOW, eye))
    assert outlined(areas).base_color == RED
    plate = Recipe().with_values({"base.shape": "rectangle"})
    assert outlined(areas, plate).base_color == YELLOW  # does not face the background, differs from red
    plain = flat((RED, shapely.box(-10, -10, 0, 10)), (BLUE, shapely.Point(0, 0).buffer(10)))
    assert outlined(plain, plate).base_is_extra


@pytest.mark.parametrize(("facing", "is_rival"), [(1.0, False), (6.0, True)])
def test_on_a_plate_a_color_with_a_twentieth_of_the_outline_is_eligible(
    facing: float, is_rival: bool
) -> None:
    """Of 80 mm 4 are a twentieth."""
    inner, strip = shapely.box(-4, -4, 4, 4), shapely.box(0, -10, facing, -8)
    picture = art((RED, FIELD), (YELLOW, shapely.union(inner, strip)))
    chosen = base_color(picture, FIELD.buffer(5), is_plate=True)
    assert (chosen.index is None) is is_rival
    assert is_rival or chosen.color == YELLOW


@pytest.mark.parametrize(("green", "serves"), [(74, False), (78, True)])
def test_on_a_plate_the_base_differs_plainly_from_what_faces_the_background(green: int, serves: bool) -> None:
    """Inside red lies an orange 9.3, or 10.5, from it by CIEDE2000; 10 are plain at a glance."""
    inner = (200, green, 30)
    assert bool(differences(inner, [RED])[0] >= 10.0) is serves
    picture = art((RED, FIELD), (inner, shapely.box(-4, -4, 4, 4)))
    assert (base_color(picture, FIELD.buffer(5), is_plate=True).color == inner) is serves


def test_a_wanted_color_near_one_of_the_artworks_is_that_one():
    areas = flat((RED, shapely.box(-10, -10, 2, 10)), (BLUE, shapely.box(2, -10, 10, 10)))
    near = outlined(areas, Recipe().with_values({"colors.base": "#143ec9"}))
    assert near.base_color == BLUE
    assert [motif.color for motif in near.motifs] == [RED]
    other = outlined(areas, Recipe().with_values({"colors.base": "#00ff00"}))
    assert other.base_color == (0, 255, 0)
    assert other.base_is_extra
    assert len(other.motifs) == 2


def test_a_color_of_the_base_that_the_user_gives_stays_and_the_ground_is_a_part() -> None:
    areas = on_paper((BLUE, RING), (RED, shapely.box(-3, -3, 3, 3)))
    given = outlined(areas, Recipe().with_values({"colors.base": "#143cc8"}))
    assert given.base_color == BLUE
    assert {motif.color for motif in given.motifs} == {CREAM, RED}
    paper = outlined(areas, Recipe().with_values({"colors.base": "#fcfaf4"}))
    assert {motif.color for motif in paper.motifs} == {BLUE, RED}


def test_a_base_in_which_much_would_vanish_gives_way_to_the_best() -> None:
    """The border closes gaps of a millimetre: a base of a comb's own color swallows its teeth."""
    teeth = [shapely.box(x, 0, x + 0.8, 20) for x in np.arange(-20, 20, 1.8)]
    comb = shapely.union_all([*teeth, shapely.box(-20, -1, 21, 0)])
    block = shapely.box(-20, -30, 20, -10)
    one = replace(flat((RED, comb), (BLUE, block)), ground=CREAM)
    assert outlined(one).base_color == BLUE
    two = flat((RED, comb), (BLUE, shapely.affinity.translate(comb, 0, -40)))
    paper = outlined(replace(two, ground=CREAM))
    assert paper.base_color == CREAM
    assert "base-color-added" in codes(paper.notes)
    cut_out = outlined(two)
    assert cut_out.base_color not in (CREAM, RED, BLUE)  # no ground to show


def test_enclosed_ground_is_the_base_unless_it_is_a_part() -> None:
    inside = shapely.box(-4, -4, 4, 4)
    picture = art((RED, FIELD), (CREAM, inside), ground=CREAM, enclosed=1)
    assert (base_color(picture, FIELD).color, base_color(picture, FIELD).index) == (CREAM, 1)
    assert base_color(picture, FIELD).notes == ()
    assert base_color(replace(picture, is_part=True), FIELD).index != 1


def test_an_added_base_is_the_one_offered_that_differs_most_from_all_colors() -> None:
    """A drawing in black lines and white ones: of the list sand or a grey or deep blue lies between."""
    rays = [shapely.LineString([(0, 0), end]).buffer(0.4) for end in ((20, 3), (-15, 12), (2, -18))]
    other = [shapely.affinity.translate(ray, 40, 0) for ray in rays]
    drawn = art((BLACK, shapely.union_all(rays)), (WHITE, shapely.union_all(other)))
    chosen = base_color(drawn, shapely.union_all([*rays, *other]).buffer(1))
    offered = [WHITE, (26, 26, 26), (200, 200, 200), (90, 90, 90), (222, 200, 160), (24, 48, 110)]
    least = [float(differences(color, [BLACK, WHITE]).min()) for color in offered]
    assert chosen.color == offered[int(np.argmax(least))]
    assert chosen.index is None
    assert codes(chosen.notes) == ["base-color-added"]


def test_colors_are_one_under_the_difference_of_one_color() -> None:
    near, far = (200, 34, 30), (200, 60, 30)
    assert differences(RED, [near, far]).tolist()[0] < SAME_COLOR < differences(RED, [near, far]).tolist()[1]
    assert same_color(RED, [BLUE, far, near]) == 2
    assert same_color(RED, [BLUE, far]) is None

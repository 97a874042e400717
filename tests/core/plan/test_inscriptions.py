"""Texts of a recipe on the plan: where they stand, in which color, what gives way, what is refused."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from oracles import coverage_faults
from reliefsmith.errors import GeometryError, RecipeError
from reliefsmith.model import FlatAreas, Inscribed, Plan, SetText
from reliefsmith.plan import connect, hang
from reliefsmith.plan.base.carry import carry
from reliefsmith.plan.inscriptions.inscribe import inscribe
from reliefsmith.plan.inscriptions.join import join
from reliefsmith.plan.register import in_register
from reliefsmith.plan.strokes.repair import mend
from reliefsmith.recipe import Recipe
from reliefsmith.walk.inputs import as_fonts

from .arts import flat, outlined

NAVY, RED, CREAM = (27, 42, 73), (216, 57, 43), (245, 236, 214)


def _areas() -> FlatAreas:
    """A cream field of 60 x 40 mm with a red bar, framed in navy."""
    bar, field = shapely.box(-28, -18, -20, 18), shapely.box(-29, -19, 29, 19)
    frame = shapely.box(-30, -20, 30, 20) - field
    return flat((NAVY, frame), (RED, bar), (CREAM, field - bar))


def _plan(*texts: dict, **values: object) -> Plan:
    recipe = Recipe().with_values({"colors.base": "#1b2a49", "lettering": list(texts), **values})
    areas, fonts, r = _areas(), as_fonts(recipe), recipe
    plan = outlined(areas, r)
    inscribed = inscribe(
        plan.base, fonts, lettering=r.lettering, base=r.base, motif=r.motif, printer=r.printer
    )
    mended = mend(plan.drawing, areas, motif=r.motif, printer=r.printer)
    plan = carry(plan, mended, inscribed.ground, base=r.base, printer=r.printer)
    plan = connect(plan, pieces=r.pieces, base=r.base)
    plan = hang(plan, inscribed.reserved, hang=r.hang, heights=r.heights, printer=r.printer, base=r.base)
    return join(
        plan,
        inscribed,
        fonts,
        lettering=r.lettering,
        base=r.base,
        motif=r.motif,
        printer=r.printer,
        heights=r.heights,
    )


def _colors(plan: Plan) -> dict[tuple[int, int, int], shapely.MultiPolygon]:
    return {motif.color: motif.polygon for motif in plan.motifs}


def _sound(plan: Plan) -> None:
    assert coverage_faults([motif.polygon for motif in plan.motifs]) == ()
    assert all(shapely.covers(plan.base, motif.polygon) for motif in plan.motifs)


def test_marks_of_direction_in_a_text_show_nothing_and_change_nothing() -> None:
    (plain,), (marked,) = (
        _plan({"text": text, "at_mm": [5, 0]}).texts for text in ("Mirabel", "Mira\u200ebel\u200f")
    )
    assert shapely.equals(marked.letters, plain.letters)


@pytest.mark.parametrize("place", ["front", "back"])
def test_lines_of_a_text_stand_under_each_other(place: str) -> None:
    (one,) = _plan({"text": "Larkwater", "place": place, "at_mm": [5, 0], "size_mm": 4.0}).texts
    (two,) = _plan({"text": "Larkwater | Larkwater", "place": place, "at_mm": [5, 0], "size_mm": 4.0}).texts
    assert len(two.letters.geoms) == 2 * len(one.letters.geoms)
    upper, lower = (
        shapely.MultiPolygon([piece for piece in two.letters.geoms if (piece.centroid.y > 0) == up])
        for up in (True, False)
    )
    pitch = 1.7 * 4.0 + 0.5  # 1.2 times the size of the font, and the least gap
    for line, moved in ((upper, pitch / 2), (lower, -pitch / 2)):
        assert line.bounds == pytest.approx(np.add(one.letters.bounds, [0, moved, 0, moved]), abs=0.002)
    assert upper.distance(lower) >= 0.5


def test_texts_without_a_place_stand_in_the_field_of_the_base() -> None:
    plan = _plan({"text": "Larkwater"}, **{"base.field_mm": [50.0, 12.0]})
    (text,) = plan.texts
    assert shapely.box(-25, -32, 25, -20 - 2.0).covers(text.letters)  # 2 mm stay free below the artwork
    (in_area,) = _plan({"text": "Larkwater", "area_mm": [5, 0]}, **{"base.field_mm": [50.0, 12.0]}).texts
    assert in_area.letters.bounds[1] > -20


def test_a_text_keeps_off_the_head_of_a_screw() -> None:
    screw = {"hang.hardware": "screw", "hang.at_mm": [0.0, -28.0]}
    plan = _plan({"text": "Kite"}, **screw, **{"base.field_mm": [60.0, 16.0]})  # on the bare base beside it
    sunk = shapely.union_all([shapely.Polygon(pocket.polygon.exterior) for pocket in plan.pockets])
    assert sunk.distance(plan.texts[0].letters) >= 0.5 - 0.005
    _sound(plan)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({"text": "Mirabel | "}, "text has an empty line"),
        ({"text": "a||b"}, "text has an empty line"),
        ({"text": "a|b", "at_mm": [0, 0], "arc_mm": 20}, "a text on an arc has one line"),
    ],
)
def test_lines_that_cannot_be_set_are_refused(table: dict, words: str) -> None:
    with pytest.raises(RecipeError, match=words):
        Recipe().with_values({"lettering": [table]})


def test_a_text_takes_the_color_seen_best_and_its_place_from_others() -> None:
    plan = _plan({"text": "Mirabel", "at_mm": [5, 0]})
    (text,) = plan.texts
    assert text.size_mm == 5.0
    assert text.color == NAVY  # the base's: cream gives way
    assert _colors(plan)[CREAM].intersection(text.letters).area < 1e-6
    middle = np.mean(np.reshape(text.letters.bounds, (2, 2)), axis=0)
    assert middle[0] == pytest.approx(5, abs=0.01)
    _sound(plan)


def test_a_color_of_its_own_is_a_motif_of_its_own() -> None:
    plan = _plan({"text": "Tobin", "at_mm": [5, 0], "color": "#1e8a8a"})
    assert _colors(plan)[(30, 138, 138)].equals(plan.texts[0].letters)
    near = _plan({"text": "Tobin", "at_mm": [5, 0], "color": "#d8392c"})  # the red that is there
    assert set(_colors(near)) == {RED, CREAM}
    assert near.texts[0].color == RED
    _sound(plan)
    _sound(near)


def test_without_a_place_a_text_is_as_large_as_the_widest_area_takes() -> None:
    plan = _plan({"text": "Mirabel"})
    (text,) = plan.texts
    room = shapely.box(-20, -19, 29, 19).buffer(-0.5)
    assert shapely.covers(room, text.letters)
    width, height = np.subtract(text.letters.bounds[2:], text.letters.bounds[:2])
    assert width > 0.97 * 48 or height > 0.97 * 37


@pytest.mark.parametrize("where", [{"area_mm": [-24, 0]}, {"area_mm": [-24, 0], "turn_deg": 90}])
def test_a_text_fills_the_area_of_its_point(where: dict) -> None:
    (text,) = _plan({"text": "Ada", **where}).texts
    assert shapely.covers(shapely.box(-28, -18, -20, 18), text.letters)
    turned = "turn_deg" in where
    assert (text.size_mm > 4) == turned  # upright it has 8 mm, turned 36


@pytest.mark.parametrize("align", ["left", "center", "right"])
def test_a_box_holds_its_text_at_the_side_that_is_asked(align: str) -> None:
    (text,) = _plan({"text": "Bo", "box_mm": [-15, -5, 30, 6], "align": align}).texts
    left, low, right, high = text.letters.bounds
    assert shapely.box(-15.001, -5.001, 15.001, 1.001).contains(shapely.box(left, low, right, high))
    gaps = {"left": left + 15, "right": 15 - right, "center": abs(left + right) / 2}
    assert gaps[align] < 0.01
    assert high - low > 0.97 * 6


def test_base_grows_under_a_text_beside_the_artwork_alike_for_all_names_of_a_box() -> None:
    plain = _plan()
    one = _plan({"text": "Mirabel", "box_mm": [-15, -32, 30, 8]})
    other = _plan({"text": "Bo", "box_mm": [-15, -32, 30, 8]})
    assert one.base.equals(other.base)
    assert one.base.area > plain.base.area + 200
    assert one.base.geom_type == "Polygon"
    for plan in (one, other):
        rim = shapely.boundary(plan.base)
        assert shapely.distance(rim, plan.texts[0].letters) >= 0.3
        _sound(plan)


def test_back_letters_are_mirrored_sunk_and_clear_of_edges_and_pockets() -> None:
    plan = _plan({"text": "LF", "place": "back", "size_mm": 8}, **{"hang.hardware": "magnet"})
    (text,), (pocket,) = plan.texts, plan.pockets
    assert text.depth_mm == 0.4
    assert text.cut.equals(text.letters)
    assert shapely.distance(text.letters, pocket.polygon) >= 0.8 - 0.01
    assert shapely.distance(text.letters, shapely.boundary(plan.base)) >= 0.8 - 0.01
    first, last = sorted(text.letters.geoms, key=lambda piece: -piece.centroid.x)  # as read from behind
    stem = first.bounds[2]  # of the L, on the side that is left from behind
    upper = first.intersection(shapely.box(*first.bounds[:1], first.centroid.y + 2, first.bounds[2], 99))
    assert upper.bounds[2] == pytest.approx(stem, abs=0.01)
    assert last.area != first.area
    assert plan.motifs == _plan(**{"hang.hardware": "magnet"}).motifs


def test_sunk_letters_in_front_cut_the_base_where_it_is_bare_and_motifs_elsewhere() -> None:
    plan = _plan({"text": "Ada", "at_mm": [5, 0], "relief": "sunk"})
    (text,) = plan.texts
    assert text.cut.is_empty  # cream covers all of it: it gives way to the base
    assert _colors(plan)[CREAM].intersection(text.letters).area < 1e-6
    bare = _plan({"text": "Ada", "box_mm": [-15, -32, 30, 8], "relief": "sunk"})
    assert bare.texts[0].cut.area == pytest.approx(bare.texts[0].letters.area)
    assert bare.sunk[0].side == "front"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ({"text": "M" * 60, "box_mm": [0, 0, 20, 5]}, "text 1 does not fit into its box"),
        ({"text": "Ada", "at_mm": [5, 0], "color": "#f5ecd6"}, "has the color that it stands on"),
        ({"text": "Ada", "area_mm": [500, 0]}, "no area for a text at"),
        ({"text": "Ada", "place": "back", "at_mm": [29, 0]}, "text 1 on the back comes too near to an edge"),
        ({"text": "Mirabel and Tobin", "at_mm": [0, 0], "arc_mm": 6}, "longer than the circle"),
    ],
)
def test_what_has_no_room_is_refused_in_one_line(text: dict, words: str) -> None:
    with pytest.raises((GeometryError, ValueError), match=words) as caught:
        _plan(text)
    assert "\n" not in str(caught.value)


def test_a_text_on_a_magnets_place_is_refused_with_the_way_out() -> None:
    with pytest.raises(GeometryError, match=r"a hole or a pocket near .*; move it, make it smaller"):
        _plan({"text": "Ada", "place": "back", "at_mm": [0, 0]}, **{"hang.hardware": "magnet"})


def test_findings_on_texts() -> None:
    def codes(*texts: dict, **values: object) -> set[str]:
        found = {item.code for item in _plan(*texts, **values).findings}
        return found & {"text-thin", "text-across"}

    assert codes({"text": "MIRA", "at_mm": [5, 0], "size_mm": 6}) == set()
    assert codes({"text": "MIRA", "at_mm": [5, 0], "size_mm": 2}) == {"text-thin"}
    assert codes({"text": "MIRA", "at_mm": [-19, 0], "size_mm": 6}) == {"text-across"}


def test_a_later_text_keeps_clear_of_the_first() -> None:
    one, two = _plan({"text": "Mirabel", "at_mm": [5, 10]}, {"text": "Tobin"}).texts
    assert isinstance(one, SetText)
    assert shapely.distance(one.letters, two.letters) >= 0.5


def test_a_text_that_meets_no_motif_leaves_all_as_noding_would() -> None:
    plan = _plan({"text": "Bo", "box_mm": [-10, -40, 20, 8]})
    _sound(plan)
    _, noded = in_register(plan.base, plan.motifs)
    assert [motif.color for motif in plan.motifs] == [motif.color for motif in noded]
    for motif, other in zip(plan.motifs, noded, strict=True):
        assert motif.polygon.normalize().equals_exact(other.polygon.normalize(), 0.0)


def _inscribed(text: dict[str, object], base: shapely.Polygon) -> Inscribed:
    recipe = Recipe().with_values({"lettering": [text]})
    return inscribe(
        base,
        as_fonts(recipe),
        lettering=recipe.lettering,
        base=recipe.base,
        motif=recipe.motif,
        printer=recipe.printer,
    )


def test_a_text_amid_the_base_needs_no_ground_of_its_own_and_one_over_the_edge_does() -> None:
    for at_mm, grows in (([0, 0], False), ([0, 19], True)):
        found = _inscribed({"text": "Mira", "at_mm": at_mm, "size_mm": 5}, shapely.box(-40, -20, 40, 20))
        assert found.ground.is_empty is not grows
        assert shapely.covers(found.reserved, found.texts[0].letters)


@pytest.mark.parametrize("arc_mm", [20.0, -20.0])
def test_a_text_on_an_arc_stands_at_that_distance_from_its_point(arc_mm: float) -> None:
    text = {"text": "MINE", "at_mm": [3, -4], "arc_mm": arc_mm, "size_mm": 4}
    made = _inscribed(text, shapely.box(-40, -40, 40, 40))
    away = np.hypot(*(shapely.get_coordinates(made.texts[0].letters) - (3, -4)).T)
    inner, outer = (20.0, 24.0) if arc_mm > 0 else (16.0, 20.0)
    assert (away.min(), away.max()) == pytest.approx((inner, outer), abs=0.5)

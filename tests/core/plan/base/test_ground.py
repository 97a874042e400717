"""Ground that the art encloses: the base shows it, unless the user says otherwise."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely
from hypothesis import given, settings
from PIL import Image, ImageDraw

import reliefsmith as rs
from reliefsmith.areas import mark
from reliefsmith.colorimetry import ciede2000, srgb_to_lab
from reliefsmith.model import FlatAreas, Plan
from reliefsmith.plan import outline
from reliefsmith.polygons import polygons_of
from reliefsmith.progress import drain
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.tables import Mark
from reliefsmith.walk.output import file_steps

from ..arts import (
    BLACK,
    BLUE,
    CREAM,
    RED,
    WHITE,
    YELLOW,
    artworks,
    assert_in_register,
    codes,
    flat,
    on_paper,
    outlined,
    shown_at,
)

RING = shapely.Point(0, 0).buffer(20) - shapely.Point(0, 0).buffer(12)


def test_the_base_shows_what_the_art_encloses_in_the_grounds_own_color() -> None:
    plan = outlined(
        on_paper((BLUE, RING), (RED, shapely.box(-18, 13, -5, 16)), (RED, shapely.box(-3, -3, 3, 3)))
    )
    assert plan.base_color == CREAM
    assert not plan.base_is_extra
    assert [motif.color for motif in plan.motifs] == [BLUE, RED]
    assert shown_at(plan, 8, 0) == CREAM
    assert codes(plan.notes).count("ground-shown") == 1
    assert_in_register(plan)


@settings(max_examples=40, deadline=None)
@given(artworks())
def test_all_enclosed_ground_of_a_square_millimetre_shows(areas: FlatAreas) -> None:
    """No more parts than colors and ground; one color never lies on itself."""
    colors = [tuple(color) for color in areas.colors.tolist()]
    areas = on_paper(*zip(colors, areas.polygons, strict=True))
    plan = outlined(areas)
    if areas.enclosed is not None:
        large = [piece for piece in polygons_of(areas.polygons[areas.enclosed]) if piece.area >= 1.0]
        covered = shapely.union_all([motif.polygon for motif in plan.motifs])
        for piece in large:
            assert plan.base_color == CREAM
            assert piece.difference(plan.base).area < 0.01
            assert piece.intersection(covered).area < 0.01
    if len(areas.art) == 1:
        gap = ciede2000(srgb_to_lab(np.array(plan.base_color)), srgb_to_lab(areas.colors[areas.art[0]]))
        assert gap >= 20
        assert len(plan.motifs) == 1


def test_ground_under_a_square_millimetre_is_left_to_the_base() -> None:
    dot = shapely.Point(4, 4).buffer(0.4)
    plan = outlined(on_paper((RED, shapely.box(-30, -30, 30, 30) - dot), (BLUE, shapely.box(-5, -5, -2, 5))))
    assert plan.base_color == RED
    assert shown_at(plan, 4, 4) == RED


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


def test_a_base_is_judged_with_the_links_that_its_pieces_will_need() -> None:
    """Two flaps of an envelope 3.5 mm apart: links in their own color would bridge the gap between them."""
    flaps = shapely.union_all([shapely.box(-13, -15, 13, 0), shapely.box(-13, 3.5, 13, 8)])
    arrow = shapely.box(-4, 8, 4, 28)
    areas = replace(flat((YELLOW, flaps), (RED, arrow)), ground=CREAM)
    assert outlined(areas).base_color == RED
    assert outlined(areas, Recipe().with_values({"pieces.connect": "none"})).base_color == YELLOW


def test_one_color_lies_on_the_color_of_its_ground_or_on_one_that_sets_it_off() -> None:
    bar = shapely.box(0, 0, 20, 5)
    assert outlined(replace(flat((BLUE, bar)), ground=CREAM)).base_color == CREAM
    assert outlined(replace(flat((YELLOW, bar)), ground=BLUE)).base_color == BLUE
    near = outlined(replace(flat((WHITE, bar)), ground=(225, 225, 222)))
    assert max(near.base_color) < 60


def test_a_color_of_the_base_that_the_user_gives_stays_and_the_ground_is_a_part() -> None:
    areas = on_paper((BLUE, RING), (RED, shapely.box(-3, -3, 3, 3)))
    given = outlined(areas, Recipe().with_values({"colors.base": "#143cc8"}))
    assert given.base_color == BLUE
    assert {motif.color for motif in given.motifs} == {CREAM, RED}
    paper = outlined(areas, Recipe().with_values({"colors.base": "#fcfaf4"}))
    assert {motif.color for motif in paper.motifs} == {BLUE, RED}


def test_kept_ground_is_a_part_of_its_own() -> None:
    recipe = Recipe().with_values({"background.enclosed": "keep"})
    areas = on_paper((BLUE, RING), (RED, shapely.box(-3, -3, 3, 3)))
    plan = outline(areas, base=recipe.base, colors=recipe.colors, background=recipe.background)
    assert plan.base_color == BLUE
    assert {motif.color for motif in plan.motifs} == {CREAM, RED}


def test_a_mark_opens_one_enclosed_area_and_the_base_keeps_its_color() -> None:
    two = shapely.box(-20, -10, 20, 10) - shapely.box(-15, -5, -5, 5) - shapely.box(5, -5, 15, 5)
    before = on_paper((RED, two))
    areas = mark(before, (Mark("open", at_mm=(10, 0)),))
    assert areas.polygons[areas.enclosed].area == 100
    plan = outline(areas, before, base=Recipe().base, colors=Recipe().colors)
    assert plan.base_color == CREAM
    assert shown_at(plan, -10, 0) == CREAM
    assert shown_at(plan, 10, 0) is None
    assert "base-color-anew" not in codes(plan.notes)


def test_an_opening_is_made_of_enclosed_ground_only() -> None:
    areas = on_paper((RED, RING))
    missed = mark(areas, (Mark("open", at_mm=(15, 0)), Mark("open", at_mm=(30, 0))))
    assert codes(missed.findings) == ["mark-missed"] * 2
    assert missed.polygons == areas.polygons


def test_the_base_is_chosen_anew_only_where_marks_take_its_color() -> None:
    art = ((RED, RING), (BLACK, shapely.box(-19, -2, -13, 2)))
    before = on_paper(*art)
    recolored = mark(before, (Mark("recolor", at_mm=(-16, 0), value="#143cc8"),))
    plan = outline(recolored, before, base=Recipe().base, colors=Recipe().colors)
    assert plan.base_color == CREAM
    opened = mark(before, (Mark("open", at_mm=(0, 0)),))
    anew = outline(opened, before, base=Recipe().base, colors=Recipe().colors)
    assert anew.base_color == RED
    assert codes(anew.notes).count("base-color-anew") == 1


def test_a_base_that_the_stock_lacks_gives_way_to_the_best_that_it_has() -> None:
    areas = on_paper((BLUE, RING), (RED, shapely.box(-3, -3, 3, 3)))
    stock = [{"name": "red", "color": "#c81e1e"}, {"name": "blue", "color": "#143cc8"}]

    def plan(values: dict[str, object]) -> Plan:
        r = Recipe().with_values({"filaments.stock": stock, **values})
        return outline(areas, base=r.base, colors=r.colors, base_stock=r.base_stock)

    lacking = plan({"filaments.only_stock": True})
    assert lacking.base_color in (RED, BLUE)
    assert codes(lacking.findings) == ["base-not-in-stock"]
    assert CREAM in {motif.color for motif in lacking.motifs}
    assert plan({}).base_color == CREAM
    had = plan({"filaments.only_stock": True, "filaments.stock": [{"name": "cream", "color": "#fdfbf5"}]})
    assert (had.base_color, codes(had.findings)) == (CREAM, [])
    none = plan({"filaments.only_stock": True, "filaments.stock": [{"name": "green", "color": "#00a040"}]})
    assert (none.base_color, codes(none.findings)) == (CREAM, [])
    asked = plan({"filaments.only_stock": True, "colors.base": "#fcfaf4"})
    assert (asked.base_color, codes(asked.findings)) == (CREAM, [])


def test_in_a_cut_out_picture_nothing_is_ground(tmp_path: Path) -> None:
    """What is transparent is an opening, whatever `background.enclosed` says: the same files to the byte."""
    image = Image.new("RGBA", (300, 300), (0, 0, 0, 0))
    pen = ImageDraw.Draw(image)
    pen.ellipse((20, 20, 280, 280), fill=(*BLUE, 255))
    pen.ellipse((90, 90, 210, 210), fill=(0, 0, 0, 0))
    pen.rectangle((130, 30, 170, 80), fill=(*WHITE, 255))
    image.save(tmp_path / "ring.png")
    made = []
    for enclosed in ("auto", "keep", "remove"):
        relief = rs.make(tmp_path / "ring.png", {"background": {"enclosed": enclosed}})
        assert (relief.areas.ground, relief.areas.enclosed) == (None, None)
        assert relief.plan.base_color == BLUE
        assert shown_at(relief.plan, 0, 0) is None
        files = drain(file_steps(relief.result))
        of_recipe = (
            ".toml",
            "-proof.png",
            "-sheet.html",
        )  # two of them carry the code of the recipe's approval
        made.append({name: data for name, data in files.items() if not name.endswith(of_recipe)})
    assert made[0] == made[1] == made[2]

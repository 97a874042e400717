"""Ground that the art encloses: the base shows it, unless the user says otherwise."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import shapely
from PIL import Image, ImageDraw

import reliefsmith as rs
from reliefsmith.areas import mark
from reliefsmith.colorimetry import ciede2000, srgb_to_lab
from reliefsmith.model import FlatAreas
from reliefsmith.plan import outline
from reliefsmith.polygons import polygons_of
from reliefsmith.progress import drain
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.tables import Mark
from reliefsmith.walk.output import file_steps
from tiers import examples

from ..arts import (
    BLACK,
    BLUE,
    CREAM,
    RED,
    RING,
    WHITE,
    artworks,
    assert_in_register,
    codes,
    on_paper,
    outlined,
    shown_at,
)


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


@examples(15, 100, artworks())
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

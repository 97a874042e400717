"""Texts joined to the finished plan: in which color, on which side, what gives way, what is refused."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from reliefsmith.errors import GeometryError
from reliefsmith.plan.hang.balance import center_of_mass, hang_angle
from reliefsmith.recipe.sections import HeightSettings

from .texts import CREAM, NAVY, RED, assert_sound, motifs_of, with_texts


def test_a_text_takes_the_color_seen_best_and_its_place_from_others() -> None:
    plan = with_texts({"text": "Mirabel", "at_mm": [5, 0]})
    (text,) = plan.texts
    assert text.size_mm == 5.0
    assert text.color == NAVY  # the base's: cream gives way
    assert motifs_of(plan)[CREAM].intersection(text.letters).area < 1e-6
    middle = np.mean(np.reshape(text.letters.bounds, (2, 2)), axis=0)
    assert middle[0] == pytest.approx(5, abs=0.01)
    assert_sound(plan)


def test_a_color_of_its_own_is_a_motif_of_its_own() -> None:
    plan = with_texts({"text": "Tobin", "at_mm": [5, 0], "color": "#1e8a8a"})
    assert motifs_of(plan)[(30, 138, 138)].equals(plan.texts[0].letters)
    near = with_texts({"text": "Tobin", "at_mm": [5, 0], "color": "#d8392c"})  # the red that is there
    assert set(motifs_of(near)) == {RED, CREAM}
    assert near.texts[0].color == RED
    assert_sound(plan)
    assert_sound(near)


def test_back_letters_are_mirrored_sunk_and_clear_of_edges_and_pockets() -> None:
    plan = with_texts({"text": "LF", "place": "back", "size_mm": 8}, **{"hang.hardware": "magnet"})
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
    assert plan.motifs == with_texts(**{"hang.hardware": "magnet"}).motifs


def test_sunk_letters_in_front_cut_the_base_where_it_is_bare_and_motifs_elsewhere() -> None:
    plan = with_texts({"text": "Ada", "at_mm": [5, 0], "relief": "sunk"})
    (text,) = plan.texts
    assert text.cut.is_empty  # cream covers all of it: it gives way to the base
    assert motifs_of(plan)[CREAM].intersection(text.letters).area < 1e-6
    bare = with_texts({"text": "Ada", "box_mm": [-15, -32, 30, 8], "relief": "sunk"})
    assert bare.texts[0].cut.area == pytest.approx(bare.texts[0].letters.area)
    assert bare.sunk[0].side == "front"


def test_the_piece_is_weighed_again_with_its_letters() -> None:
    """Letters cut 1 mm deep into the left of the back move the mass to the right, and the piece turns."""
    sunk = {"text": "HOT", "place": "back", "at_mm": [-14, 0], "size_mm": 10.0, "depth_mm": 1.0}
    raised = {"heights.style": "raised"}
    plain, plan = with_texts(**raised), with_texts(sunk, **raised)
    heights = HeightSettings(style="raised")
    center = center_of_mass(plan.base, plan.motifs, heights, plan.sunk)
    assert plan.center_of_mass_mm == pytest.approx(center, abs=0.001)
    assert plan.center_of_mass_mm[0] > plain.center_of_mass_mm[0] + 0.2
    assert plan.hole.hang_angle_deg == pytest.approx(hang_angle(plan.hole.center_mm, center), abs=0.001)


@pytest.mark.parametrize(("face", "webs"), [("up", 1), ("down", 0)])
def test_eyes_of_letters_that_lie_on_the_bed_are_held(face: str, webs: int) -> None:
    """On the back they lie on it where the piece is printed face up."""
    o = {"text": "O", "place": "back", "at_mm": [0, 0], "size_mm": 3.0}
    plan = with_texts(o, **{"heights.face": face, "heights.style": "flush"})
    told = [item.message for item in plan.notes if item.code == "text-webbed"]
    assert len(told) == webs
    assert sum(len(piece.interiors) for piece in plan.texts[0].cut.geoms) == 1 - webs
    assert not webs or "1 eye that would come loose there is held by webs of 0.6 mm" in told[0]


def test_letters_laid_in_a_color_need_no_webs() -> None:
    o = {"text": "O", "place": "back", "at_mm": [0, 0], "size_mm": 3.0, "color": "#d8392b"}
    plan = with_texts(o, **{"heights.face": "up"})
    assert plan.texts[0].color == RED
    assert "text-webbed" not in {item.code for item in plan.notes}


def test_a_text_over_the_hole_or_the_edge_is_refused_with_the_place() -> None:
    with pytest.raises(
        GeometryError, match=r"text 1 reaches over the hanging hole .* \(-?\d\.\d, 10\.\d\) mm"
    ):
        with_texts({"text": "HOT", "at_mm": [0, 10]}, **{"hang.at_mm": [0, 10]})


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
        with_texts(text)
    assert "\n" not in str(caught.value)

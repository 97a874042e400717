"""The style that a job takes where its recipe leaves it open."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.recipe.sections import BaseSettings, HeightSettings, PrinterSettings, settled
from reliefsmith.solid.table import PLATES, refusal

OWN = ({"color": "#d8392b", "height_mm": 1.0},)


def _style(motifs: int = 3, *, rim: float = 0.0, loaded: int = 1, **heights) -> str:
    base, printer = BaseSettings(rim_mm=rim), PrinterSettings(filaments=loaded)
    return settled(HeightSettings(**heights), base, printer, motifs)[0].style


@pytest.mark.parametrize(
    ("asked", "taken"),
    [
        ({}, "stepped"),
        ({"motifs": 1}, "raised"),
        ({"motifs": 0}, "raised"),
        ({"rim": 1.0}, "raised"),
        ({"colors": OWN}, "raised"),
        ({"steps": ("#d32020",)}, "stepped"),
        ({"loaded": 4}, "raised"),
        ({"loaded": 3}, "stepped"),
        ({"face": "down"}, "flush"),
        ({"face": "down", "motifs": 1}, "flush"),
        ({"face": "down", "split": "pegs"}, "sunk"),
        ({"style": "sunk", "loaded": 4}, "sunk"),
    ],
)
def test_the_style_follows_from_face_rim_and_filaments(asked, taken) -> None:
    assert _style(**asked) == taken


@given(
    st.sampled_from(sorted({(face, split) for _, face, split in PLATES})),
    st.sampled_from(["flat", "chamfer", "crown", "brightness"]),
    st.sampled_from([0.0, 1.0]),
    st.integers(0, 8),
    st.integers(1, 8),
)
def test_it_is_refused_only_where_every_style_is(plates, top, rim, motifs, loaded) -> None:
    face, split = plates
    values = {"face": face, "top": top, "split": split}
    taken = _style(motifs, rim=rim, loaded=loaded, **values)
    base = BaseSettings(rim_mm=rim)
    if refusal(HeightSettings(style=taken, **values), base):
        styles = {style for style, _, _ in PLATES}
        assert all(refusal(HeightSettings(style=style, **values), base) for style in styles)


def test_why_is_said_only_where_the_recipe_left_it_open() -> None:
    for style, face in product(("auto", "flush"), ("up", "down")):
        _, why = settled(HeightSettings(style=style, face=face), BaseSettings(), PrinterSettings(), 3)
        assert bool(why) is (style == "auto")

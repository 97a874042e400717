"""The sheet of the coupon: letters where rows begin, sizes as they are, an example that the recipe takes."""

from __future__ import annotations

import re
import tomllib

import pytest
import shapely

from reliefsmith.documents.coupon_sheet import LETTER_BELOW_MM, PICTURE_PX_PER_MM, Row, coupon_html
from reliefsmith.model import ColorChange, Slab, Stack
from reliefsmith.recipe import Recipe

from .pages import Page

DARK, LIGHT = (20, 24, 33), (240, 240, 236)
ROWS = (
    Row("A", "stroke", (0.3, 0.45), (-20.0, 8.0)),
    Row("B", "hole", (2.0, 3.0), (5.0, -4.0)),
    Row("C", "face", (0.4,), (-10.0, 3.0)),
)


@pytest.fixture(scope="module")
def page() -> Page:
    slabs = (
        Slab("dark", "base", DARK, shapely.box(-30, -15, 30, 15), 0.0, 2.0),
        Slab("light", "motif", LIGHT, shapely.box(-25, 5, 25, 12), 2.0, 2.6),
        Slab("strip", "motif", LIGHT, shapely.box(-12, 2, 12, 5), 0.0, 0.2),
    )
    stack = Stack(slabs, (0.2, 2.0, 2.6), (ColorChange(2, 0.2, DARK), ColorChange(11, 2.0, LIGHT)), True)
    html = coupon_html(stack, ROWS, colors=(DARK, LIGHT), layer_mm=0.15, first_layer_mm=0.25, stem="coupon")
    return Page(html)


def test_the_change_and_the_layers_are_those_of_the_stack(page: Page) -> None:
    text = page.text()
    assert "Pause before layer 11 (underside at 2.00 mm)" in text
    assert "0.15 mm, first layer 0.25 mm" in text
    assert "The strip strip lies on the bed" in text
    assert "coupon.3mf" in text


def test_letters_stand_below_the_first_feature_of_their_row_mirrored_from_below(page: Page) -> None:
    """Pictures begin half a millimetre beside the piece, which reaches from -30, -15 to 30, 15 mm."""
    letters = [item for item in page.all("text") if item.get("font-size") == "30"]
    wanted = [(row.at_mm[0] * (-1 if row.kind == "face" else 1), row.at_mm[1], row.kind) for row in ROWS]
    for item, (x, y, kind) in zip(letters, wanted, strict=True):
        assert float(item["x"] or "") == pytest.approx((x + 30.5) * PICTURE_PX_PER_MM, abs=1)
        below = y - LETTER_BELOW_MM[kind]
        assert float(item["y"] or "") == pytest.approx((15.5 - below) * PICTURE_PX_PER_MM, abs=1)
    assert [data for tag, data in page.texts if tag == "text"] == ["A", "B", "C"]


def test_every_row_is_to_be_read_with_its_sizes(page: Page) -> None:
    cells = [data for tag, data in page.texts if tag in ("td", "th")]
    assert "0.3, 0.45 mm wide" in cells
    assert "2, 3 mm across" in cells
    assert len([cell for cell in cells if re.match("[ABC] ", cell)]) == 3


def test_the_example_is_a_recipe(page: Page) -> None:
    (example,) = [data for tag, data in page.texts if tag == "pre"]
    recipe = Recipe.from_mapping(tomllib.loads(example))
    (spool,) = recipe.filaments.stock
    assert (spool.color, spool.thin_over) == ("#f0f0ec", "#141821")
    assert spool.thin_mm == pytest.approx(0.3)  # of two layers


def test_settings_that_readings_go_to_are_settings(page: Page) -> None:
    known = {
        key for name, section in Recipe().sections() for key in (f"{name}.{k}" for k in section.__slots__)
    }
    codes = [data for tag, data in page.texts if tag == "code"]
    named = [code for code in codes if re.fullmatch(r"[a-z]+[.][a-z_]+", code) and not code.endswith("3mf")]
    assert len(named) >= 4
    assert set(named) <= known

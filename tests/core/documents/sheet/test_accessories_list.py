"""What goes with a piece on the sheet: each thing once, its size and mass by hand, its steps in order."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

import pieces
from reliefsmith.documents.sheet.accessories_list import accessories_section
from reliefsmith.model import Accessory

from ..pages import Page

GREY = (90, 90, 90)


def _thing(name: str, copies: int, *fitting: str) -> Accessory:
    body = pieces.part(name, GREY, shapely.box(-5, 0, 15, 10), (0.0, 5.0))
    return Accessory(name, copies, None, (body,), fitting)  # type: ignore[arg-type]


def _page(job, *things: Accessory) -> Page:
    return Page(accessories_section(replace(job, accessories=things)).encode())


@pytest.mark.parametrize("copies", [1, 3])
def test_mass_is_that_of_all_copies(job, copies: int) -> None:
    """20 x 10 x 5 mm are 1 cm3: 1.24 g each at the usual density."""
    text = _page(job, _thing("foot", copies)).text()
    assert f"foot {copies} 20.0 × 10.0 × 5.0 mm {1.24 * copies:.1f} g kite-foot.3mf" in text


def test_steps_of_all_things_follow_one_another(job) -> None:
    page = _page(job, _thing("foot", 1, "Set it <in>.", "Try it dry."), _thing("lid", 1, "Close it."))
    assert [data for tag, data in page.texts if tag == "li"] == ["Set it <in>.", "Try it dry.", "Close it."]
    assert page.all("ol")
    assert "kite-lid.3mf" in page.text()


def test_a_piece_that_is_all_has_no_such_section(job) -> None:
    assert accessories_section(job) == ""

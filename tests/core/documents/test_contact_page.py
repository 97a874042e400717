"""Small proofs on one page: one scale for all, in millimetres of paper, with what is to be looked at."""

from __future__ import annotations

import base64
from dataclasses import replace
from io import BytesIO

import pytest
import shapely
from PIL import Image

from reliefsmith.documents.contact_page import SmallProof, contact_html
from reliefsmith.documents.views import Face
from reliefsmith.model import Approval

from .pages import Page

RED = (211, 32, 32)
CODE = Approval("ab" * 32, "AAAAA-BBBBB-C")


def _proof(name: str, wide: float, high: float = 10.0, **more: object) -> SmallProof:
    shape = shapely.box(0, 0, wide, high)
    face = Face((shape,), (shape,), (0,), (RED,), (2.0,))
    return SmallProof(name, face, 1, (wide, high, 2.6), (RED,), f"CODE-{name}", "adults", **more)  # type: ignore[arg-type]


def _page(*proofs: SmallProof, cautions: tuple[str, ...] = ()) -> Page:
    return Page(contact_html(proofs, CODE, cautions))


@pytest.mark.parametrize(
    ("sizes", "scale", "words"),
    [
        ([(40, 20), (10, 10)], 1.0, "true size"),
        ([(60, 20), (10, 10)], 1 / 1.5, "drawn at 1 : 1.5"),
        ([(20, 80)], 1 / 2, "drawn at 1 : 2"),
    ],
)
def test_all_are_drawn_at_the_largest_scale_at_which_all_have_room(
    sizes: list[tuple[float, float]], scale: float, words: str
) -> None:
    page = _page(*(_proof(str(n), *size) for n, size in enumerate(sizes, start=1)))
    assert f"Every picture is {words}." in page.text()
    for image, (wide, high) in zip(page.all("img"), sizes, strict=True):
        mm = float(image["width"] or "") / 96 * 25.4
        assert mm == pytest.approx(wide * scale + 2, abs=0.4)  # with room for its shadow
        picture = Image.open(BytesIO(base64.b64decode((image["src"] or "").partition(",")[2])))
        assert picture.height / picture.width == pytest.approx(
            (high * scale + 2) / (wide * scale + 2), abs=0.02
        )


def test_each_has_its_own_code_and_all_together_have_one() -> None:
    page = _page(_proof("1", 20), _proof("lantern", 30))
    text = page.text()
    assert "Row 1" in text
    assert "lantern" in text
    assert "Row lantern" not in text
    assert all(f"CODE-{name}" in text for name in ("1", "lantern"))
    assert text.count(CODE.code) == 1
    assert len(page.all("article")) == 2


def test_names_are_text_and_stand_only_where_they_are_said() -> None:
    said = _page(_proof("1", 20, said=("<b>Mirabel</b>",)))
    assert "<b>Mirabel</b>" in said.text()
    assert [tag for tag, _ in said.elements].count("b") == 1  # that of the code
    assert not [item for item in _page(_proof("1", 20)).all("p") if item.get("class") == "said"]


def test_cautions_of_audiences_stand_once_and_those_of_the_sets_after_them() -> None:
    three = [_proof("1", 20), _proof("2", 20), replace(_proof("3", 20), audience="children", quantity=5)]
    text = _page(*three, cautions=("Row 2: A tip is sharp.",)).text()
    assert text.count("For adults:") == text.count("For children:") == 1
    assert text.index("For children:") < text.index("Row 2: A tip")
    assert "3 proofs, 7 pieces" in text

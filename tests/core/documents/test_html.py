"""Elements as values: whatever text they are given, a parser reads back that text and no markup of it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.documents.html import Markup, el, facts, join, listing, section, swatch, table

from .pages import Page

TEXT = st.text(st.characters(min_codepoint=32, exclude_categories=["Cs", "Cc"]), max_size=40)
HOSTILE = '<script>alert("1")</script>&amp;\'>'


def test_elements_escape_text_and_attributes_but_not_markup():
    assert el("p", "<b>", Markup("<i></i>"), title='"') == '<p title="&quot;">&lt;b&gt;<i></i></p>'
    assert join("a", ["b", el("br")]) == "ab<br>"


@settings(max_examples=25)
@given(TEXT, TEXT)
def test_text_and_attributes_are_read_back_as_they_were(words: str, title: str) -> None:
    page = Page(el("div", el("p", words, title=title)).encode())
    assert [tag for tag, _ in page.elements] == ["div", "p"]
    assert page.all("p") == [{"title": title}]
    assert "".join(data for tag, data in page.texts) == words


def test_names_of_attributes_are_those_of_html() -> None:
    made = el("p", cls="a b", aria_label="x", for_="y", data_head="z", hidden=True, lang=False)
    assert Page(made.encode()).all("p") == [
        {"class": "a b", "aria-label": "x", "for": "y", "data-head": "z", "hidden": None}
    ]


@pytest.mark.parametrize("name", ["br", "img", "input", "meta", "circle", "path", "rect", "line"])
def test_elements_without_content_are_not_closed_and_those_of_drawings_close_themselves(name: str) -> None:
    made = el(name, "nothing", id="x")
    assert made == (f'<{name} id="x"/>' if name in {"circle", "path", "rect", "line"} else f'<{name} id="x">')
    assert Page(el("div", made, el("b")).encode()).elements[1:] == [(name, {"id": "x"}), ("b", {})]


def test_pieces_may_be_nested_and_markup_is_written_once() -> None:
    inner = el("i", "a & b")
    assert join(["x", [inner, ("y", [])]], iter(["z"])) == "x<i>a &amp; b</i>yz"
    assert isinstance(join("a"), Markup)
    assert join(join("&")) == "&amp;"


def test_a_table_names_its_rows_and_tells_cells_their_column() -> None:
    made = table(("Part", "Mass"), [(HOSTILE, "1 g"), ("red", el("b", "2 g"))], caption="Mass", quiet=True)
    page = Page(made.encode())
    assert [item["scope"] for item in page.all("th")] == ["col", "col", "row", "row"]
    assert [item["data-head"] for item in page.all("td")] == ["Mass", "Mass"]
    assert page.all("caption") == [{"class": "heard"}]
    assert HOSTILE in page.text()
    assert Page(table(("a",), [("b",)], caption="c").encode()).all("caption") == [{}]


def test_a_row_that_has_not_as_many_cells_as_the_head_is_an_error() -> None:
    with pytest.raises(ValueError, match="zip"):
        table(("a", "b"), [("1", "2", "3")], caption="c")


def test_sections_lists_and_facts_have_their_elements() -> None:
    page = Page(
        join(section("x", HOSTILE, listing(["a", "b"], ordered=True, cls="c")), facts([("k", "v")])).encode()
    )
    assert page.all("section") == [{"id": "x", "aria-labelledby": "x-title"}]
    assert page.all("h2") == [{"id": "x-title"}]
    assert page.all("ol") == [{"class": "c"}]
    assert len(page.all("li")) == 2
    assert [data for tag, data in page.texts if tag in ("dt", "dd")] == ["k", "v"]
    assert Page(listing(["a"]).encode()).all("ul") == [{}]
    assert Page(swatch("#aabbcc").encode()).all("rect")[0]["fill"] == "#aabbcc"

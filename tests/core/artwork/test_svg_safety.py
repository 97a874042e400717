"""Safety of drawings: the parsed text alone is looked at, whatever a renderer would do with it."""

from __future__ import annotations

import base64
import io

import pytest
from PIL import Image

from reliefsmith.artwork.opening import is_svg
from reliefsmith.artwork.svg_safety import safe_svg, stripped_svg
from reliefsmith.errors import ArtworkError
from reliefsmith.recipe.sections import ArtworkSettings

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 40 20">'
)


def kept(body: str) -> str:
    """Return what is left of a body, as text."""
    root = safe_svg(f"{HEAD}{body}</svg>".encode(), "kite.svg")
    found = [f"{key.rpartition('}')[2]}={value}" for one in root.iter() for key, value in one.attrib.items()]
    return " ".join([*found[1:], *(one.text or "" for one in root.iter())]).strip()


def refusal(text: str | bytes, **settings: float) -> str:
    data = text if isinstance(text, bytes) else text.encode()
    with pytest.raises(ArtworkError) as caught:
        safe_svg(data, "kite.svg", ArtworkSettings(**settings))
    assert "\n" not in str(caught.value)
    return str(caught.value)


def data_url(kind: str = "png", size: tuple[int, int] = (4, 4)) -> str:
    out = io.BytesIO()
    Image.new("RGB", size).save(out, kind)
    return f"data:image/{kind};base64,{base64.b64encode(out.getvalue()).decode()}"


def test_a_byte_order_mark_and_a_bare_doctype_line_are_fine() -> None:
    line = (
        '<?xml version="1.0" encoding="{}"?>\n<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "svg11.dtd">\n'
    )
    body = f'{HEAD}<rect width="40" height="20" fill="blue"/></svg>'
    for encoding, python in (("UTF-8", "utf-8-sig"), ("UTF-16", "utf-16")):
        data = (line.format(encoding) + body).encode(python)
        assert is_svg(data)
        assert safe_svg(data, "x").tag.endswith("svg")


@pytest.mark.parametrize(
    "doctype",
    [
        '<!DOCTYPE svg [<!ENTITY a "b">]>',
        '<!DOCTYPE svg SYSTEM "file:///etc/passwd">',
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "x" [<!ATTLIST g id CDATA "a">]>',
        '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>',
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "x" [<!ENTITY a "aaa"><!ENTITY b "&a;&a;">]>',
    ],
)
def test_document_types_and_entities_are_refused(doctype: str) -> None:
    assert "DTD or entities" in refusal(f"{doctype}{HEAD}<text>x</text></svg>")


def test_limits() -> None:
    deep = HEAD + "<g>" * 64 + "</g>" * 64 + "</svg>"
    assert "levels" in refusal(deep)
    assert "elements" in refusal(HEAD + "<g/>" * 100_001 + "</svg>")
    levels = "".join(f'<g id="l{k + 1}">' + f'<use href="#l{k}"/>' * 10 + "</g>" for k in range(9))
    assert "repeats itself" in refusal(f'{HEAD}<rect id="l0"/>{levels}</svg>')
    patterns = "".join(
        f'<pattern id="p{k + 1}" width="1" height="1">' + f'<rect fill="url(#p{k})"/>' * 10 + "</pattern>"
        for k in range(9)
    )
    assert "repeats itself" in refusal(f'{HEAD}{patterns}<rect fill="url(#p9)"/></svg>')


def test_loops_are_refused() -> None:
    assert "refers to itself" in refusal(f'{HEAD}<g id="a"><use href="#a"/></g></svg>')
    two = '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>'
    assert "refers to itself" in refusal(f"{HEAD}{two}</svg>")


@pytest.mark.parametrize(
    "reference",
    [
        "a.png",
        "/etc/passwd",
        "file:///a.svg",
        "https://example.org/a.png",
        " //a",
        "a.svg#b",
        "data:image/svg+xml;base64,PHN2Zy8+",
        "data:text/html,a",
        "javascript:a",
    ],
)
@pytest.mark.parametrize("where", ["href", "xlink:href"])
def test_references_that_leave_the_document_go_and_are_counted_where_they_draw(
    reference: str, where: str
) -> None:
    """An image, a use and a filter's picture draw; a link and a gradient do not."""
    drawing = "".join(f'<{tag} {where}="{reference}"/>' for tag in ("image", "use", "feImage"))
    root, left_out = stripped_svg(f'{HEAD}{drawing}<a {where}="{reference}"/></svg>'.encode(), "kite.svg")
    assert left_out == 3
    assert all(not one.attrib for one in root)


@pytest.mark.parametrize("kind", ["png", "jpeg", "gif", "webp"])
def test_embedded_pictures_of_a_sane_size_stay(kind: str) -> None:
    assert kept(f'<image href=" {data_url(kind)}"/>').startswith("href=")
    assert stripped_svg(f'{HEAD}<image href="{data_url(kind)}"/></svg>'.encode(), "k")[1] == 0
    broken = data_url(kind)[:30]
    assert kept(f'<image href="{broken}"/>') == ""


def test_an_embedded_picture_has_the_bound_of_any_picture() -> None:
    text = f'{HEAD}<image href="{data_url(size=(1000, 1001))}"/></svg>'.encode()
    assert stripped_svg(text, "k", ArtworkSettings(max_megapixels=1.01))[1] == 0
    assert stripped_svg(text, "k", ArtworkSettings(max_megapixels=1.0))[1] == 1
    plain = base64.b64decode(data_url().partition(",")[2])
    quoted = "".join(f"%{byte:02x}" for byte in plain)
    assert kept(f'<image href="data:image/png,{quoted}"/>').startswith("href=")


@pytest.mark.parametrize(
    "tag", ["script", "foreignObject", "iframe", "object", "embed", "audio", "video", "handler"]
)
def test_what_runs_or_shows_other_kinds_of_documents_goes_with_all_it_holds(tag: str) -> None:
    root = safe_svg(f"{HEAD}<g><{tag}><rect id='a'/></{tag}><rect id='b'/></g></svg>".encode(), "k")
    assert [one.attrib["id"] for one in root.iter() if "id" in one.attrib] == ["b"]


@pytest.mark.parametrize(
    ("value", "left"),
    [
        ("url(#p)", "url(#p)"),
        ("url( '#p' ) red", "url( '#p' ) red"),
        ("url(' #p')", "url(' #p')"),
        ("URL(a.png)", "none"),
        ("url('a b.png') url(#q)", "none url(#q)"),
        (r"u\72l(a.png)", ""),
        (r"\75 rl(a.png)", ""),
        (r"caf\e9", r"caf\e9"),
        ("red", "red"),
    ],
)
def test_values_keep_what_points_into_the_document_and_nothing_escaped(value: str, left: str) -> None:
    """CSS Syntax 4.3.7: an escape may stand for any letter of `url`."""
    (rect,) = safe_svg(f'{HEAD}<rect fill="{value}"/></svg>'.encode(), "k")
    assert rect.attrib["fill"] == left


def test_style_sheets_lose_imports_comments_and_urls() -> None:
    style = '@import "a.css"; rect { fill: url(a.png); mask: url(#m) } /* url(b) @import */ @IMPORT url(c)'
    left = kept(f"<style>{style}</style>")
    assert "url(#m)" in left
    assert all(word not in left.lower() for word in ("import", "a.png", "a.css", "url(b)", "url(c)"))


def test_events_bases_and_sources_go() -> None:
    assert kept('<rect onclick="a()" ONLOAD="b()" src="c" xml:base="d" id="e"/>') == "id=e"


@pytest.mark.parametrize(
    ("name", "passes", "fails"),
    [
        ("max_elements", "<g/><g/>", "<g/><g/><g/>"),
        ("max_depth", "<g><g/></g><g/>", "<g><g><g/></g></g>"),
    ],
)
def test_a_limit_is_held_to_the_last_one(name: str, passes: str, fails: str) -> None:
    settings = ArtworkSettings(**{name: 3})
    assert safe_svg(f"{HEAD}{passes}</svg>".encode(), "k", settings) is not None
    assert f"raise artwork.{name}" in refusal(f"{HEAD}{fails}</svg>", **{name: 3})


@pytest.mark.parametrize(("size", "fits"), [(1048, True), (1049, False)])
def test_a_drawing_is_as_large_as_allowed(size: int, fits: bool) -> None:
    """A thousandth of a MiB is 1048.6 bytes."""
    text = f"{HEAD}<!----></svg>".encode()
    text = text.replace(b"<!--", b"<!--" + b"x" * (size - len(text)))
    if fits:
        assert safe_svg(text, "k", ArtworkSettings(max_drawing_mib=0.001)) is not None
    else:
        assert "raise artwork.max_drawing_mib" in refusal(text, max_drawing_mib=0.001)


def test_a_part_may_be_drawn_as_often_as_twice_the_elements_allow() -> None:
    """A hundred uses of ten parts: 1 + 10 + 100 x 11 are drawn; twice 600 allow that, twice 550 do not."""
    parts = f'<g id="p">{"<rect/>" * 9}</g>' + '<use href="#p"/>' * 100
    text = f"{HEAD}{parts}</svg>"
    assert safe_svg(text.encode(), "k", ArtworkSettings(max_elements=600)) is not None
    assert "repeats itself too often" in refusal(text, max_elements=550)


@pytest.mark.parametrize("text", ["<svg", "<html/>", "", "kite", f"{HEAD}<a:b/></svg>"])
def test_what_is_no_drawing_is_told(text: str) -> None:
    assert "SVG" in refusal(text)

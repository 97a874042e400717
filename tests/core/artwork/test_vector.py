"""Vector drawings: rendered right, and nothing outside the text is ever read."""

from __future__ import annotations

import base64
import io
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from reliefsmith.artwork import read, renderer, vector
from reliefsmith.artwork.svg_safety import safe_svg
from reliefsmith.artwork.vector import render
from reliefsmith.errors import ArtworkError
from reliefsmith.recipe.sections import ArtworkSettings
from reliefsmith.recipe.settings import specs

SETTINGS = ArtworkSettings()
HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 40 20">'
)


def drawn(folder: Path, body: str, head: str = HEAD) -> object:
    path = folder / "kite.svg"
    path.write_text(f"{head}{body}</svg>", encoding="utf-8")
    return read(path, SETTINGS)


def refusal(folder: Path, text: str | bytes) -> str:
    path = folder / "bad.svg"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(ArtworkError) as caught:
        read(path, SETTINGS)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def png(color: tuple[int, int, int]) -> str:
    buffer = io.BytesIO()
    Image.new("RGB", (8, 8), color).save(buffer, "PNG")
    return base64.b64encode(buffer.getvalue()).decode()


def test_a_disc_has_its_area_and_color(tmp_path: Path) -> None:
    artwork = drawn(tmp_path, '<circle cx="20" cy="10" r="8" fill="#c81e28"/>')
    assert artwork.rgb.shape == (800, 1600, 3)
    assert artwork.has_alpha
    # 40 units are 1600 px: the disc has radius 320 px.
    assert artwork.alpha.sum() == pytest.approx(np.pi * 320**2, rel=1e-3)
    assert tuple(artwork.rgb[400, 800]) == (200, 30, 40)


def test_a_named_file_is_never_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The canary: a green picture beside the drawing must not show in any way it can be named."""
    monkeypatch.setattr(vector, "DRAWN_PX", 200)
    Image.new("RGB", (50, 50), (0, 255, 0)).save(tmp_path / "canary.png")
    (tmp_path / "canary.svg").write_text(f'{HEAD}<rect id="r" width="40" height="20" fill="#00ff00"/></svg>')
    names = [
        f"{base}{end}"
        for base in ("", "./", f"{tmp_path}/", f"file://{tmp_path}/")
        for end in ("canary.png", "canary.svg", "canary.svg#r")
    ]
    for name in names:
        body = (
            f'<rect width="10" height="10" fill="red"/><image href="{name}" width="40" height="20"/>'
            f'<image xlink:href="{name}" width="40" height="20"/><use href="{name}" width="40" height="20"/>'
            f'<filter id="f"><feImage href="{name}"/></filter><rect width="40" height="20" filter="url(#f)"/>'
            f'<rect width="40" height="20" fill="url({name})"/>'
            f'<style>@import "{name}"; rect {{ mask: url("{name}") }} </style>'
            f'<foreignObject width="40" height="20"><img xmlns="http://www.w3.org/1999/xhtml" src="{name}"/>'
            "</foreignObject>"
        )
        rgb = drawn(tmp_path, body).rgb.astype(int)
        assert not ((rgb[..., 1] > 200) & (rgb[..., 0] < 100)).any(), name
        text = (tmp_path / "kite.svg").read_bytes()
        kept = safe_svg(text, "x")
        assert all("canary" not in value for element in kept.iter() for value in element.attrib.values())


def test_embedded_pictures_show_but_embedded_drawings_do_not(tmp_path: Path) -> None:
    green = png((0, 255, 0))
    shown = drawn(tmp_path, f'<image href="data:image/png;base64,{green}" width="40" height="20" />')
    assert (shown.alpha > 0.5).any()
    inner = base64.b64encode(f'{HEAD}<rect width="40" height="20" fill="#00ff00"/></svg>'.encode()).decode()
    name = f"data:image/svg+xml;base64,{inner}"
    body = f'<rect width="9" height="9"/><image href="{name}" width="40" height="20"/>'
    hidden = drawn(tmp_path, body)
    assert not (hidden.rgb[..., 1][hidden.alpha > 0.5] > 200).any()


def test_references_inside_the_drawing_work(tmp_path: Path) -> None:
    body = '<defs><rect id="r" width="10" height="20"/></defs><use href="#r"/><use href="#r" x="30"/>'
    artwork = drawn(tmp_path, body)
    assert artwork.alpha.mean() == pytest.approx(0.5, abs=1e-3)


LIMITS = {
    "max_drawing_mib": (0.001, "x" * 2000),
    "max_elements": (3, "<g/><g/><g/>"),
    "max_depth": (2, "<g><g/></g>"),
    "max_megapixels": (1.0, ""),
}
"""Limits of a drawing: a value, and what passes it."""


@pytest.mark.parametrize("name", LIMITS)
def test_every_limit_is_a_setting_that_its_error_names(name: str) -> None:
    low, body = LIMITS[name]
    text = f'{HEAD}<rect width="40" height="20"/>{body}</svg>'.encode()
    assert render(text, "kite.svg", ArtworkSettings()).size == (1600, 800)
    with pytest.raises(ArtworkError, match=f"raise artwork.{name}"):
        render(text, "kite.svg", ArtworkSettings(**{name: low}))


def test_the_greatest_depth_that_may_be_set_is_drawn() -> None:
    most = specs(ArtworkSettings)["max_depth"].high
    assert most is not None
    inner = int(most) - 2
    text = f'{HEAD}{"<g>" * inner}<rect width="40" height="20"/>{"</g>" * inner}</svg>'
    assert render(text.encode(), "kite.svg", ArtworkSettings(max_depth=int(most))).size == (1600, 800)


def test_time_and_memory_of_the_renderer_are_settings(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(renderer, "_WALL_TO_CPU", 1000)  # on a machine at work that would end it first
    body = '<g opacity=".9"><rect width="40" height="20"/></g>' * 20_000
    little = ArtworkSettings(max_draw_s=1, max_draw_gib=0.25)
    with pytest.raises(ArtworkError, match=r"1 s and 0.25 GiB; .*artwork.max_draw_s or artwork.max_draw_gib"):
        render(f"{HEAD}{body}</svg>".encode(), "kite.svg", little)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("<svg", "damaged"),
        ('<?xml version="1.0"?><html></html>', "no SVG drawing"),
        ('<svg xmlns="http://www.w3.org/2000/svg"><rect/></svg>', "no usable width"),
        ('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 0 5"><rect/></svg>', "no usable width"),
        ('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1e9 5"><rect/></svg>', "no usable width"),
        ('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 nan 5"><rect/></svg>', "no usable width"),
        (f"{HEAD}</svg>", "fully transparent"),
        (f'{HEAD}<g transform="nonsense(("/></svg>', "transparent"),
    ],
)
def test_broken_drawings_are_refused_in_one_line(tmp_path: Path, text: str, words: str) -> None:
    assert words in refusal(tmp_path, text)


def test_text_is_drawn_with_the_shipped_font(tmp_path: Path) -> None:
    artwork = drawn(tmp_path, '<text x="2" y="15" font-size="12" font-family="Unheard Of">Wren</text>')
    assert 0.02 < float(artwork.alpha.mean()) < 0.5


@pytest.mark.parametrize("unit", ["", "px", "mm", "cm", "in", "pt"])
def test_physical_sizes_give_the_sides_their_ratio(tmp_path: Path, unit: str) -> None:
    head = f'<svg xmlns="http://www.w3.org/2000/svg" width="60{unit}" height="20{unit}" viewBox="0 0 3 1">'
    artwork = drawn(tmp_path, '<rect width="3" height="1" fill="#c81e28"/>', head)
    assert artwork.source_px == (1600, 533)
    assert (artwork.alpha[5:-5] == 1).all()


def test_without_a_viewbox_a_user_unit_is_a_css_pixel(tmp_path: Path) -> None:
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="2in" height="1in">'
    artwork = drawn(tmp_path, '<rect width="96" height="96" fill="#c81e28"/>', head)
    assert artwork.source_px == (1600, 800)
    assert artwork.alpha.mean() == pytest.approx(0.5, abs=1e-3)


def test_without_the_renderer_the_message_says_what_to_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "resvg_py", None)  # as if not installed
    assert "needs the package resvg-py" in refusal(tmp_path, f'{HEAD}<rect width="9" height="9"/></svg>')


def test_what_was_left_out_from_outside_is_said(tmp_path: Path) -> None:
    outside = '<image href="paint.png" width="40" height="20"/><use href="kite.svg#tail"/>'
    said = refusal(tmp_path, f"{HEAD}{outside}</svg>")
    assert "shows nothing without 2 pictures or parts from outside the file" in said
    disc = '<circle cx="20" cy="10" r="8" fill="#c81e28"/>'
    (note,) = drawn(tmp_path, f'{disc}<image xlink:href="https://example.org/a.png"/>').notes
    assert note.code == "outside-left-out"
    assert note.message.startswith("1 picture or part from outside the file")
    inner = f'<a href="https://example.org/">{disc}</a><use href="#no"/><image href="data:image/png;base64,'
    assert drawn(tmp_path, f'{inner}{png((1, 2, 3))}" width="4" height="4"/>').notes == ()

"""Hostile files end in one plain line, soon, without a word from a library, and touch nothing else."""

from __future__ import annotations

import os
import signal
import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import reliefsmith as rs
from reliefsmith.artwork import svg_safety, vector
from reliefsmith.errors import ReliefsmithError
from reliefsmith.jobs.checking import check_files
from reliefsmith.recipe.sections import ArtworkSettings
from tiers import broad

from . import hostile

MOST_WORK = 100
"""Times a piece of plain work that a file may take: ten seconds where that takes a tenth of one."""

HANG_S = 600
"""A reader that waits for a pipe waits for ever."""

_SPACES = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
SVG = f'<svg {_SPACES} width="60" height="40">'


@pytest.fixture(scope="module")
def limit_s() -> float:
    """Seconds of processor time that a case may take on this machine, however slow that is."""

    def worked() -> float:
        begin = time.process_time()
        assert len(sorted(str(number * number % 1_000_003) for number in range(150_000))) == 150_000
        return time.process_time() - begin

    return MOST_WORK * sorted(worked() for _ in range(5))[2]


@pytest.fixture(autouse=True)
def _limits(monkeypatch: pytest.MonkeyPatch, limit_s: float) -> Iterator[None]:
    """No case may take much work or open a connection."""

    def too_slow(*_: object) -> None:
        raise TimeoutError(f"slower than {MOST_WORK} times a plain piece of work, {limit_s:.1f} s")

    def refused(*_: object, **__: object) -> None:
        raise AssertionError("a file made the reader open a connection")

    monkeypatch.setattr(socket, "socket", refused)
    if not hasattr(signal, "setitimer"):
        yield
        return
    before = signal.signal(signal.SIGPROF, too_slow)
    signal.setitimer(signal.ITIMER_PROF, limit_s)
    yield
    signal.setitimer(signal.ITIMER_PROF, 0)
    signal.signal(signal.SIGPROF, before)


def _refused(call: Callable[[], object], capfd: pytest.CaptureFixture[str]) -> str:
    with pytest.raises(ReliefsmithError) as caught:
        call()
    message = str(caught.value)
    assert message
    assert all(char.isprintable() for char in message)
    assert len(message) <= 400
    assert capfd.readouterr() == ("", "")
    return message


@pytest.mark.parametrize("name", hostile.PICTURES)
def test_a_hostile_picture_is_refused(name: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "kite.png"
    path.write_bytes(hostile.PICTURES[name]())
    _refused(lambda: rs.make(path), capfd)
    assert [item.name for item in tmp_path.iterdir()] == ["kite.png"]


@pytest.mark.parametrize("name", hostile.DRAWINGS)
def test_a_hostile_drawing_is_refused(name: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "kite.svg"
    path.write_bytes(hostile.DRAWINGS[name]())
    _refused(lambda: rs.make(path), capfd)


@pytest.mark.parametrize("name", hostile.SOLIDS)
def test_a_hostile_solid_is_refused(name: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    suffix, make = hostile.SOLIDS[name]
    path = tmp_path / f"kite{suffix}"
    path.write_bytes(make())
    _refused(lambda: check_files([path]), capfd)
    assert [item.name for item in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize("name", hostile.RECIPES)
def test_a_hostile_recipe_is_refused(name: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "kite.toml"
    path.write_bytes(hostile.RECIPES[name]())
    _refused(lambda: rs.Recipe.load(path), capfd)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes in folders")
@pytest.mark.parametrize("suffix", [".png", ".svg", ".3mf", ".stl", ".toml"])
def test_a_pipe_is_refused_without_waiting_for_a_writer(
    suffix: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / f"kite{suffix}"
    os.mkfifo(path)
    calls = {
        ".toml": rs.Recipe.load,
        ".3mf": lambda one: check_files([one]),
        ".stl": lambda one: check_files([one]),
    }
    done: list[str] = []
    worker = threading.Thread(
        target=lambda: done.append(_refused(lambda: calls.get(suffix, rs.make)(path), capfd)), daemon=True
    )
    worker.start()
    worker.join(HANG_S)
    assert done


@pytest.mark.parametrize(
    "name",
    ["kite\0.png", "k" * 10_000 + ".png", "con", "nul.png", ".", "", "\ud800.png", "kite\n\x1b[2J.png"],
)
def test_a_hostile_name_is_one_line(name: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    _refused(lambda: rs.make(tmp_path / name), capfd)
    _refused(lambda: rs.Recipe.load(tmp_path / name), capfd)
    _refused(lambda: check_files([tmp_path / f"{name}.stl"]), capfd)


REFERENCES = {
    "picture": '<image href="{path}" width="60" height="40"/>',
    "picture by xlink": '<image xlink:href="{path}" width="60" height="40"/>',
    "picture by address": '<image href="file://{path}" width="60" height="40"/>',
    "picture with blanks": '<image href=" \t{path}" width="60" height="40"/>',
    "picture relative": '<image href="canary.png" width="60" height="40"/>',
    "base": '<g xml:base="file://{folder}/"><image href="canary.png" width="60" height="40"/></g>',
    "part of another file": '<use href="{path}#a"/>',
    "fill": '<rect width="60" height="40" fill="url({path})"/>',
    "fill in a style": '<rect width="60" height="40" style="fill:url(\'file://{path}\')"/>',
    "escaped": '<rect width="60" height="40" style="fill:u\\72l({path})"/>',
    "style sheet": '<style>@import url("{path}"); rect{{fill:url({path})}}</style>',
    "font": '<style>@font-face{{font-family:x;src:url("{path}")}}</style>'
    '<text font-family="x" y="9">A</text>',
    "filter": '<filter id="f"><feImage href="{path}"/></filter>'
    '<rect width="60" height="40" filter="url(#f)"/>',
    "escaped style sheet": "<style>@\\69mport u\\72l({path}); rect{{f\\69ll:\\75rl({path})}}</style>",
    "drawing in a drawing": '<image width="60" height="40" href="data:image/svg+xml;utf8,'
    "&lt;svg xmlns='http://www.w3.org/2000/svg' width='60' height='40'&gt;"
    "&lt;image href='{path}' width='60' height='40'/&gt;&lt;/svg&gt;\"/>",
    "included": '<xi:include xmlns:xi="http://www.w3.org/2001/XInclude" href="{path}"/>',
    "foreign": '<foreignObject width="60" height="40"><img xmlns="http://www.w3.org/1999/xhtml" '
    'src="{path}"/></foreignObject>',
    "mask": '<mask id="m"><image href="{path}" width="60" height="40"/></mask>'
    '<rect width="60" height="40" mask="url(#m)"/>',
    "pattern": '<pattern id="p" width="1" height="1"><image href="{path}" width="60" height="40"/></pattern>'
    '<rect width="60" height="40" fill="url(#p)"/>',
    "network": '<image href="http://127.0.0.1:9/canary.png" width="60" height="40"/>',
    "pipe": '<image href="{folder}/pipe" width="60" height="40"/>',
}


@pytest.mark.parametrize("name", REFERENCES)
def test_a_drawing_cannot_show_another_file(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The canary is pure magenta: a single pixel of it in the drawing would mean that the file was read."""
    canary = tmp_path / "canary.png"
    Image.new("RGB", (60, 40), (255, 0, 255)).save(canary)
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(vector, "DRAWN_PX", 120)
    body = REFERENCES[name].format(path=canary, folder=tmp_path)
    drawing = f'{SVG}<circle cx="30" cy="20" r="9" fill="#20409a"/>{body}</svg>'.encode()
    drawn = np.asarray(vector.render(drawing, "kite.svg", ArtworkSettings()))
    magenta = (drawn[..., :3] == (255, 0, 255)).all(axis=2) & (drawn[..., 3] > 0)
    assert not magenta.any()
    assert str(tmp_path).encode() not in svg_safety.ET.tostring(svg_safety.safe_svg(drawing, "kite.svg"))


def test_the_canary_is_seen_when_it_is_embedded() -> None:
    """The test above could not fail if embedded pictures were not drawn at all."""
    import base64
    import io

    out = io.BytesIO()
    Image.new("RGB", (60, 40), (255, 0, 255)).save(out, "PNG")
    data = base64.b64encode(out.getvalue()).decode()
    drawing = f'{SVG}<image href="data:image/png;base64,{data}" width="60" height="40"/></svg>'.encode()
    drawn = np.asarray(vector.render(drawing, "kite.svg", ArtworkSettings()))
    assert (drawn[..., :3] == (255, 0, 255)).all(axis=2).mean() > 0.9


SLOW = {
    "blur": '<filter id="f" width="9"><feGaussianBlur stdDeviation="5000"/></filter>'
    '<g filter="url(#f)">{rect}</g>',
    "dilation": '<filter id="f"><feMorphology operator="dilate" radius="1000"/></filter>'
    '<g style="opacity:1;filter:url(#f)">{rect}</g>',
    "turbulence": '<filter id="f"><feTurbulence numOctaves="100000"/></filter><g filter="url(#f)">{rect}</g>',
    "tile of 32 GiB": '<pattern id="p" width="4" height="2147483648" patternUnits="userSpaceOnUse">'
    "{rect}</pattern>"
    '<rect width="60" height="40" fill="url(#p)"/>',
    "dashes": '<path d="M-1e9 20H1e9" stroke="red" stroke-width="3" stroke-dasharray="0.0001"/>{rect}',
    "tiny pattern": '<pattern id="p" width=".00001" height=".00001" patternUnits="userSpaceOnUse">'
    "{rect}</pattern>"
    '<rect width="60" height="40" fill="url(#p)"/>',
    "half transparent groups": '<g opacity=".9">{rect}</g>' * 20_000,
    "half transparent by class": "<style>.a,.b{{opacity:.9}}</style>" + '<g class="b">{rect}</g>' * 20_000,
    "half transparent by kind": "<style>g{{opacity:.9}}</style>" + "<g>{rect}</g>" * 20_000,
    "markers": '<marker id="m" markerWidth="9" markerHeight="9">{rect}</marker>'
    '<path marker-mid="url(#m)" d="M0 0' + "L1 1" * 50_000 + '"/>',
    "letters": "<text>" + "A" * 300_000 + "</text>",
    "clips of clips": "".join(
        f'<clipPath id="c{i}" clip-path="url(#c{i - 1})">{{rect}}</clipPath>' for i in range(1, 2_000)
    )
    + '<g clip-path="url(#c1999)">{rect}</g>',
}


LIKE_OTHERS = {"blur", "turbulence", "markers", "half transparent by class", "half transparent by kind"}
"""What ends, as a second of work does, where dilation, letters and half transparent groups do."""


QUICK_TO_TRY = [name for name in SLOW if name not in LIKE_OTHERS]


@pytest.mark.parametrize("name", broad(SLOW, lambda name: name in QUICK_TO_TRY))
def test_a_drawing_that_would_take_long_is_drawn_soon_or_refused(
    name: str,
) -> None:
    """Several took more than 40 s, one wanted 32 GiB, before the renderer got a process of its own."""
    body = SLOW[name].format(rect='<rect width="60" height="40" fill="teal"/>')
    try:
        assert vector.render(
            f"{SVG}{body}</svg>".encode(), "kite.svg", ArtworkSettings(max_draw_s=1)
        ).size == (
            1600,
            1067,
        )
    except ReliefsmithError as error:
        ends = ("renderer can draw", "too long to draw", "repeats itself")  # the second on a machine at work
        assert any(end in str(error) for end in ends)  # noqa: PT017 - drawn is right, too

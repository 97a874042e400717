"""The piece held against its picture, through the stages: shares, places, words, what is the user's wish."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
import shapely
from PIL import Image, ImageDraw

import reliefsmith as rs
from reliefsmith.checks.compare import _lies_on, judged
from reliefsmith.colorimetry.seen import Seen
from reliefsmith.model import Fidelity, Lettering, LetterLine, Missed
from reliefsmith.progress import drain
from reliefsmith.walk.pipeline import Job

NAVY, RED, WHITE = (20, 40, 110), (200, 30, 40), (250, 250, 250)


def _png(draw, size: tuple[int, int] = (400, 300), ground: tuple[int, ...] = WHITE) -> bytes:
    """Return a picture; it is drawn at four times its size, so that its edges are soft."""
    mode = "RGB" if len(ground) == 3 else "RGBA"
    image = Image.new(mode, (size[0] * 4, size[1] * 4), ground)
    draw(ImageDraw.Draw(image))
    return _bytes(image.resize(size, Image.Resampling.BOX))


def _bytes(image: Image.Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def _figure(pen: ImageDraw.ImageDraw) -> None:
    """Draw a navy field with a red disc on it; neither encloses ground."""
    pen.rounded_rectangle((160, 160, 1440, 1040), 200, fill=NAVY)
    pen.ellipse((500, 300, 1100, 900), fill=RED)


def _seen(picture: bytes, **values: object) -> Fidelity:
    recipe = rs.Recipe().with_values({key.replace("__", "."): value for key, value in values.items()})
    fidelity = drain(Job(picture).steps(recipe, "compared"))["compared"]
    assert isinstance(fidelity, Fidelity)
    return fidelity


def test_a_plain_figure_is_seen_whole() -> None:
    fidelity = _seen(_png(_figure))
    assert min(fidelity.edges_kept, fidelity.paint_right) >= 0.999
    assert (fidelity.lost, fidelity.findings) == ((), ())


@pytest.mark.parametrize("turned", [-4.0, 7.0])
def test_the_picture_is_carried_along_the_frame(turned: float) -> None:
    """A turned picture of another size than the piece lies on the cells where the plan has it."""
    image = Image.open(io.BytesIO(_png(_figure)))
    image = image.rotate(turned, Image.Resampling.BICUBIC, expand=True, fillcolor=WHITE)
    fidelity = _seen(_bytes(image), size__longest_mm=60.0)
    assert fidelity.edges_kept >= 0.999
    assert fidelity.paint_right >= 0.999


@pytest.mark.parametrize("wide", [890, 900, 910])
def test_what_lies_beyond_the_picture_does_not_color_its_rim(wide: int) -> None:
    """Cells on the rim of a field reach beyond it, by another share for each width."""
    field = Image.new("RGB", (wide, 600), (110, 190, 70))
    ImageDraw.Draw(field).ellipse((300, 150, 600, 450), fill=(230, 100, 30))
    fidelity = _seen(_bytes(field))
    assert (fidelity.edges_kept, fidelity.paint_right, fidelity.lost) == (1.0, 1.0, ())


def test_colors_that_became_one_are_told_with_their_place() -> None:
    fidelity = _seen(_png(_figure), colors__merge=[["#c81e28", "#14286e"]])
    assert fidelity.edges_kept < 0.8
    assert fidelity.paint_right < 0.8
    edges, paint = fidelity.findings
    assert (edges.code, paint.code) == ("edges-lost", "color-wrong")
    assert "red against navy: both are navy" in edges.message
    assert "red shows as navy" in paint.message
    assert paint.at_mm is not None
    assert np.hypot(*paint.at_mm[:2]) < 1.0
    place = next(item for item in fidelity.lost if item.what == "red shows as navy")
    assert place.size_mm == pytest.approx(68 * 600 / 1280, abs=0.5)


def test_the_remedy_was_tried_and_helps() -> None:
    """A wide border in the figure's own color hides its outline; one in the ground's color shows it."""
    wide = {"colors__base": "#14286e", "base__border_mm": 4.0}
    poor = _seen(_png(_figure), **wide)
    assert poor.edges_kept < 0.97
    remedy = poor.lost[0].remedy
    assert remedy in poor.findings[0].message
    better = _seen(_png(_figure), **(wide | {"colors__base": remedy.split('"')[1]}))
    assert 1 - better.edges_kept < (1 - poor.edges_kept) / 2
    assert f"{better.edges_kept * 100:.0f} % of the edges" in remedy


def test_nothing_is_tried_where_nothing_is_lost() -> None:
    assert all(not item.remedy for item in _seen(_png(_figure)).lost)


def test_a_transparent_ground_has_no_color() -> None:
    fidelity = _seen(_png(_figure, ground=(0, 0, 0, 0)))
    assert min(fidelity.edges_kept, fidelity.paint_right) >= 0.999


@pytest.mark.parametrize(
    "mark",
    [{"kind": "recolor", "at_mm": [0.0, 0.0], "value": "#e6b422"}, {"kind": "erase", "at_mm": [0.0, 0.0]}],
)
def test_what_marks_change_is_the_picture_that_is_wanted(mark: dict) -> None:
    fidelity = _seen(_png(_figure), marks=[mark])
    assert fidelity.paint_right >= 0.99
    assert fidelity.edges_kept >= 0.97


def test_colors_that_the_user_named_are_wanted() -> None:
    assert _seen(_png(_figure), colors__palette=["#14286e", "#c81ee0"]).paint_right >= 0.99


def test_enclosed_ground_that_the_user_took_away_is_not_missed() -> None:
    def ring(pen: ImageDraw.ImageDraw) -> None:
        pen.ellipse((300, 100, 1300, 1100), fill=NAVY)
        pen.ellipse((600, 400, 1000, 800), fill=WHITE)

    fidelity = _seen(_png(ring), background__enclosed="remove")
    assert min(fidelity.edges_kept, fidelity.paint_right) >= 0.999


def test_a_large_piece_is_looked_at_in_larger_cells() -> None:
    values = drain(Job(_png(_figure)).steps(rs.Recipe().with_values({"size.longest_mm": 400.0}), "sampled"))
    assert values["sampled"].cell_mm == 0.4


def test_another_height_compares_nothing_again() -> None:
    job = Job(_png(_figure))
    recipe = rs.Recipe().with_values({"hang.hardware": "none"})
    first = drain(job.steps(recipe, "compared"))
    second = drain(job.steps(recipe.with_values({"heights.motif_mm": 1.0}), "compared"))
    assert second["hung"] is not first["hung"]
    assert second["compared"] is first["compared"]


def test_what_is_lost_on_a_line_too_fine_is_told_by_its_own_finding_only() -> None:
    """Beside it, larger than it, or where another base would help, lost edges still speak."""
    seen = Seen(0.9, 1.0)
    outline = shapely.box(-8, -1, 8, 1)
    line = LetterLine(6, (250, 250, 250), NAVY, (0.0, 0.0), (), outline, 2.0, 0.3, 0.5, (0.6, 0.5))
    on_it = Missed("white against navy: both are navy", (3.0, 0.5), 6.0)
    beside, around = replace(on_it, at_mm=(3.0, 4.0)), replace(on_it, size_mm=40.0)
    mended = replace(on_it, remedy="with colors.base = ...")

    def told(*places: Missed) -> list[str]:
        kinds = ["edge"] * len(places)
        return [item.message for item in judged(seen, kinds, places, Lettering((line,)).lost).findings]

    assert told(on_it) == []
    assert all(len(told(on_it, other)) == 1 for other in (beside, around, mended))
    assert len(judged(seen, ["edge"], (on_it,)).findings) == 1
    wide = replace(line, stroke_mm=0.7)
    assert len(judged(seen, ["edge"], (on_it,), Lettering((wide,)).lost).findings) == 1


def test_a_line_explains_what_is_lost_near_it_up_to_its_own_length() -> None:
    outline = shapely.box(0, 0, 4, 1)
    line = LetterLine(3, (250, 250, 250), NAVY, (2.0, 0.5), (), outline, 1.0, 0.3, 0.5, (0.6, 0.5))
    for place, explained in (
        (Missed("lost", (2.0, 0.5), 6.0), True),
        (Missed("lost", (2.0, 0.5), 6.1), False),
        (Missed("lost", (5.0, 0.5), 1.0), True),
        (Missed("lost", (5.1, 0.5), 1.0), False),
        (Missed("lost", (2.0, 0.5), 1.0, 'colors.base = "#000000"'), False),
    ):
        assert _lies_on(place, line) is explained

"""Figures of the proof: in true size or an easily said scale, with rulers that count as marks do."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from scipy import ndimage

from reliefsmith.documents import canvas as canvas_module
from reliefsmith.documents.canvas import PANEL, Canvas
from reliefsmith.documents.legend import legend
from reliefsmith.documents.proof.figures import (
    AREA_DISC_MM,
    SCALES,
    back_room,
    centered,
    draw_back,
    draw_front,
    draw_key,
    fitting,
    front_room,
    key_room,
    marker,
)
from reliefsmith.documents.views import Face, back_face, front_face
from reliefsmith.model.areas import NumberedArea
from reliefsmith.polygons.cover import View

from ..noted import Noted

MM_PER_INCH = 25.4
RED, BLUE = (211, 32, 32), (30, 60, 200)


def test_the_front_is_drawn_in_true_size(job):
    page = Canvas(120, 140)
    face = front_face(job.stack)
    assert draw_front(page, (0, 0), (120, 140), face, 0.0) == 1.0
    pixels = np.asarray(page.image).astype(int)
    apart = np.abs(pixels - np.array(PANEL)).sum(axis=2) > 250  # the soft shadow stays below 180
    regions, _ = ndimage.label(apart)
    rows, columns = max(ndimage.find_objects(regions), key=lambda box: box[0].stop - box[0].start)
    low_x, low_y, high_x, high_y = job.plan.base.bounds
    sides = [(part.stop - part.start) / 300 * MM_PER_INCH for part in (columns, rows)]
    assert sides == pytest.approx((high_x - low_x, high_y - low_y), abs=0.13)  # a pixel and a half


def test_a_piece_that_does_not_fit_is_scaled_to_an_easily_said_scale():
    assert fitting((178.0, 307.0), (90.0, 110.0), 1.0) == 1 / 3
    assert fitting((10.0, 10.0), (90.0, 110.0), 2.0) == 2.0


@pytest.mark.parametrize("draw", ["front", "key"])
def test_the_rulers_count_from_the_middle_of_the_artwork_as_marks_do(job, monkeypatch, draw):
    drawn: list[tuple[tuple[float, float], str, str]] = []
    original = Canvas.text

    def spy(self, at, text, **options):
        drawn.append((at, text, options.get("anchor", "")))
        return original(self, at, text, **options)

    monkeypatch.setattr(canvas_module.Canvas, "text", spy)
    page, face, size = Canvas(120, 140), front_face(job.stack), (120, 140)
    if draw == "front":
        draw_front(page, (0, 0), size, face, 0.0)
    else:
        draw_key(page, (0, 0), size, face, legend(job))
    level = {int(text): at[0] for at, text, anchor in drawn if anchor == "ms"}
    upright = {int(text): at[1] for at, text, anchor in drawn if anchor == "rm"}
    scale = (level[20] - level[0]) / 20
    assert min(level) < 0 < max(level)
    assert (upright[0] - upright[20]) / 20 == pytest.approx(scale)  # y upward
    # The ruler's 0 lies where the picture's own geometry puts the origin of the frame.
    pixels = np.asarray(page.image).astype(int)
    apart = np.abs(pixels - np.array(PANEL)).sum(axis=2) > 250
    regions, _ = ndimage.label(apart)
    rows, columns = max(
        ndimage.find_objects(regions),
        key=lambda box: (box[0].stop - box[0].start) * (box[1].stop - box[1].start),
    )
    if draw == "front":
        low_x, _, _, high_y = face.bounds
        px = page.px_per_mm
        assert level[0] == pytest.approx(columns.start / px - low_x * scale, abs=0.15)
        assert upright[0] == pytest.approx(rows.start / px + high_y * scale, abs=0.15)


@pytest.mark.parametrize("size", [(68.0, 40.0), (200.0, 30.0), (9.0, 9.0), (20000.0, 3000.0)])
@pytest.mark.parametrize("most", [1.0, 2.0])
def test_the_scale_is_the_largest_known_one_at_which_all_fits(size: tuple[float, float], most: float) -> None:
    room = (90.0, 110.0)
    fits = [scale for scale in SCALES if scale <= most and size[0] * scale <= 90 and size[1] * scale <= 110]
    assert fitting(size, room, most) == max(fits, default=min(SCALES))


def test_rooms_leave_place_for_rulers_and_marks() -> None:
    size = (100.0, 80.0)
    assert all(inner < outer for inner, outer in zip(front_room(size), back_room(size), strict=True))
    assert all(inner < outer for inner, outer in zip(key_room(size), back_room(size), strict=True))
    assert front_room((0.0, 0.0))[0] < 0


def test_the_cut_is_marked_on_both_sides_at_its_height(job) -> None:
    page, face = Noted(120, 140), front_face(job.stack)
    for cut in (0.0, 10.0):
        page.said.clear()
        draw_front(page, (0, 0), (120, 140), face, cut)
        marks = [item for item in page.said if item.text == "A"]
        assert len(marks) == 2
        assert marks[0].at[1] == marks[1].at[1]
        upright = {item.text: item.at[1] for item in page.said if item.options.get("anchor") == "rm"}
        scale = (float(upright["0"]) - float(upright["20"])) / 20
        assert marks[0].at[1] == pytest.approx(upright["0"] - cut * scale, abs=0.01)


def test_the_back_is_enlarged_twice_at_most_and_says_so(job) -> None:
    page = Noted(120, 140)
    draw_back(page, (0, 0), (120, 140), back_face(job.stack))
    shapes = (shapely.box(0, 0, 10, 8),)
    small = Face(shapes, shapes, (0,), (RED,), (2.0,))
    other = Noted(120, 140)
    draw_back(other, (0, 0), (120, 140), small)
    assert "drawn 2 times as large" in other.words
    assert "drawn 2 times" not in page.words


def _two(gap: float) -> Face:
    """Two squares of 20 mm above each other."""
    shapes = (shapely.box(-10, gap / 2, 10, 20 + gap / 2), shapely.box(-10, -20 - gap / 2, 10, -gap / 2))
    return Face(shapes, shapes, (0, 1), (RED, BLUE), (2.0, 2.6))


def test_each_color_has_its_number_at_the_side_with_a_line_into_its_widest_place(job) -> None:
    page, entries = Noted(80, 80), legend(job)[:2]
    draw_key(page, (0, 0), (80, 80), _two(4.0), entries)
    numbers = {item.text: item.at for item in page.said if item.options.get("anchor") == "mm"}
    assert set(numbers) == {"1", "2"}
    assert numbers["1"][1] < numbers["2"][1]  # the first square lies above
    assert numbers["1"][0] == numbers["2"][0] > 70
    ends = {end: start for start, end in page.lines}
    assert ends[numbers["1"]][1] < ends[numbers["2"]][1]


def test_a_color_that_is_not_seen_has_no_number(job) -> None:
    face = _two(4.0)
    hidden = Face(face.shapes, (face.visible[0], shapely.Polygon()), face.parts, face.colors, face.levels_mm)
    page = Noted(80, 80)
    draw_key(page, (0, 0), (80, 80), hidden, legend(job)[:2])
    assert [item.text for item in page.said if item.options.get("anchor") == "mm"] == ["1"]


def test_numbers_of_areas_stand_where_they_have_room_and_the_piece_is(job) -> None:
    areas = [
        NumberedArea(RED, (0.0, 12.0), 9.0, 400.0),
        NumberedArea(BLUE, (0.0, -12.0), 0.2, 1.0),
        NumberedArea(BLUE, (40.0, 0.0), 9.0, 400.0),
    ]
    page = Noted(80, 80)
    draw_key(page, (0, 0), (80, 80), _two(4.0), legend(job)[:2], areas=areas)
    discs = [radius for _, radius in page.discs if radius == pytest.approx(2 * AREA_DISC_MM)]
    assert len(discs) == 1
    assert "numbers of areas" in page.words


def test_a_mark_has_its_text_in_its_middle_smaller_in_a_small_one() -> None:
    page = Noted(20, 20)
    marker(page, (10, 10), "3")
    marker(page, (10, 10), "3", radius=0.9)
    large, small = page.said
    assert large.at == small.at == (10, 10)
    assert small.options["size"] < large.options["size"]


def test_a_picture_is_centered_below_its_caption() -> None:
    canvas, view = Canvas(100, 100), View(0, 0, 10.0, (236, 118))
    left, top = centered((10.0, 20.0), (60.0, 50.0), view, canvas)
    wide, high = (side / canvas.px_per_mm for side in view.size_px)
    assert left + wide / 2 == pytest.approx(40.0)
    lower = centered((10.0, 20.0), (60.0, 60.0), view, canvas)[1]
    assert lower - top == pytest.approx(5.0)
    assert 20 < top < top + high < 70

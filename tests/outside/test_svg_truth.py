"""The exact shapes of drawings follow SVG 2: chapter 8.5 on `transform`, 13.5 on strokes."""

from __future__ import annotations

import math

import pytest
import shapely

from svgtruth import visible_areas

BOX = (0.0, 0.0, 100.0, 100.0)
CHORDS = 1e-3  # of an area: what flattened curves fall short of


def test_a_scaled_and_moved_circle_is_an_ellipse_in_its_place() -> None:
    seen = visible_areas('<circle r="5" transform="translate(40 50) scale(4 2)" fill="#c03030"/>', BOX)
    area = seen[(0xC0, 0x30, 0x30)]
    assert area.area == pytest.approx(math.pi * 20 * 10, rel=CHORDS)
    assert area.bounds == pytest.approx((20, 40, 60, 60), abs=0.05)


def test_transforms_of_a_group_come_after_those_of_its_children() -> None:
    body = (
        '<g transform="translate(50 0)"><g transform="scale(2)">'
        '<rect width="10" height="5" transform="rotate(90)" fill="#2040a0"/></g></g>'
    )
    area = visible_areas(body, BOX)[(0x20, 0x40, 0xA0)]
    assert area.symmetric_difference(shapely.box(40, 0, 50, 20)).area == pytest.approx(0, abs=1e-9)


def test_an_unevenly_scaled_stroke_is_wide_one_way_and_narrow_the_other() -> None:
    body = '<path d="M10 20H20V80" fill="none" stroke="#000" stroke-width="2" transform="scale(3 1)"/>'
    area = visible_areas(body, BOX)[(0, 0, 0)]
    wanted = shapely.union_all([shapely.box(30, 19, 63, 21), shapely.box(57, 19, 63, 80)])
    assert area.symmetric_difference(wanted).area == pytest.approx(0, abs=1e-9)

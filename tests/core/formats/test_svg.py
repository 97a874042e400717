"""SVG of plan and areas: sizes, rulers and numbers, read back with lxml and shapely."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from lxml import etree

import pieces
from reliefsmith.errors import GeometryError
from reliefsmith.formats import areas_geojson, areas_svg, curved_areas_svg, path_data, plan_svg
from reliefsmith.model import FlatAreas
from reliefsmith.model.areas import NumberedArea

SVG = "{http://www.w3.org/2000/svg}"


def flat(*shapes: shapely.Geometry, **more: object) -> FlatAreas:
    """Areas of other colors each, anywhere."""
    areas = tuple(shapely.MultiPolygon(shapely.get_parts(shape).tolist()) for shape in shapes)
    colors = np.array([pieces.RED, pieces.TEAL, pieces.DARK], np.uint8)[: len(shapes)]
    return FlatAreas(areas, colors, pieces.frame(), (0, 0), **more)


def groups(data: bytes) -> dict[str, etree._Element]:
    return {group.get("id"): group for group in etree.fromstring(data).iter(f"{SVG}g")}


def rings_of(data: str) -> list[np.ndarray]:
    return [
        np.array([pair.split(",") for pair in ring.split()], dtype=float)
        for ring in re.findall("M([^Z]*)Z", data)
    ]


def test_path_data_are_the_rings_with_y_down_shells_one_way_and_holes_the_other() -> None:
    """Each ring is closed by Z, so its first point is not said again (SVG 2, 9.3.4)."""
    shape = shapely.MultiPolygon(
        [shapely.box(0, 1, 9, 8) - shapely.box(2, 2, 3.125, 4), shapely.box(20, 0, 21, 0.5)]
    )
    for turned in (shape, shapely.reverse(shape)):
        shell, hole, small = rings_of(path_data(turned))
        assert shapely.Polygon(shell * (1, -1), [hole * (1, -1)]).equals(shape.geoms[0])
        assert shapely.Polygon(small * (1, -1)).equals(shape.geoms[1])
        assert [shapely.is_ccw(shapely.LinearRing(ring)) for ring in (shell, hole, small)] == [
            False,
            True,
            False,
        ]
        assert [len(ring) for ring in (shell, hole, small)] == [4, 4, 4]
    assert path_data(shapely.MultiPolygon()) == ""
    assert "-0" not in re.split("[ ,MZ]", path_data(shapely.box(0, 0, 1, 1)))


@pytest.mark.parametrize("place", [(0, 0), (-3.5, 12.25), (7, -40)])
def test_the_view_is_the_bounding_box_with_y_down(place: tuple[float, float]) -> None:
    x, y = place
    root = etree.fromstring(
        areas_svg(flat(shapely.box(x, y, x + 30, y + 20), shapely.box(x + 30, y, x + 31.5, y + 1)))
    )
    assert [float(word) for word in root.get("viewBox").split()] == [x, -(y + 20), 31.5, 20]
    assert (root.get("width"), root.get("height")) == ("31.5mm", "20mm")


def test_areas_of_a_color_that_is_gone_stay_as_an_empty_group() -> None:
    found = groups(areas_svg(flat(shapely.box(0, 0, 5, 5), shapely.MultiPolygon()), ["a", "b"]))
    assert [path.get("d") for path in found["b"].iter(f"{SVG}path")] == [""]
    assert [group.get("fill") for group in found.values()][1:] == ["#d32020", "#1e8a8a"]
    with pytest.raises(GeometryError, match="nothing to draw"):
        plan_svg(replace(pieces.plan(), base=shapely.Polygon(), motifs=()), ["base"])
    for writer in (areas_svg, curved_areas_svg):
        with pytest.raises(GeometryError, match="nothing to draw"):
            writer(flat(shapely.MultiPolygon()))


@pytest.mark.parametrize("longest", [20.0, 70.0, 240.0])
def test_rulers_have_ticks_from_the_origin_and_numbers_at_every_tenth(longest: float) -> None:
    """A tick is as long as its rank, a number as high as 1.2 of the unit, and none stands off its value."""
    unit = longest / 50
    left, low = -0.3 * longest, -0.2 * longest
    frame = groups(areas_svg(flat(shapely.box(left, low, left + longest, low + longest / 2))))["frame"]
    lines = [[float(line.get(key)) for key in ("x1", "y1", "x2", "y2")] for line in frame.iter(f"{SVG}line")]
    upright = sorted({x1: y1 - y2 for x1, y1, x2, y2 in lines if x1 == x2}.items())
    level = sorted({-y1: x2 - x1 for x1, y1, x2, y2 in lines if y1 == y2}.items())
    step = upright[1][0] - upright[0][0]
    assert unit / 2 <= step <= 2.5 * unit
    for ticks, least, most in ((upright, left, left + longest), (level, low, low + longest / 2)):
        places = [place for place, _ in ticks]
        assert places == [k * step for k in range(-1000, 1000) if least <= k * step <= most]
        for place, length in ticks:
            rank = 2 if place % (10 * step) == 0 else 1 if place % (5 * step) == 0 else 0
            assert length == pytest.approx((1 + rank) / 3 * unit, abs=0.0011)
    texts = list(frame.iter(f"{SVG}text"))
    across = [(int(t.text), float(t.get("x"))) for t in texts if t.get("text-anchor") == "middle"]
    up = [(int(t.text), float(t.get("y"))) for t in texts if t.get("text-anchor") == "start"]
    assert [value for value, _ in across] == [x for x, _ in upright if x % (10 * step) == 0]
    assert [value for value, _ in up] == [y for y, _ in level if y % (10 * step) == 0]
    assert all(value == x for value, x in across)
    assert all(y == pytest.approx(0.4 * unit - value, abs=6e-4) for value, y in up)


def test_areas_have_their_numbers_in_a_layer_that_is_not_shown() -> None:
    """A number stands in the middle of its area, smaller where it has two digits, and within its circle."""
    numbered = tuple(NumberedArea(pieces.RED, (float(k), -2.0), 3.0, 9.0) for k in range(11))
    layer = groups(areas_svg(flat(shapely.box(-9, -9, 9, 9), numbered=numbered)))["numbers"]
    assert layer.get("display") == "none"
    texts = list(layer.iter(f"{SVG}text"))
    assert [text.text for text in texts] == [str(k) for k in range(1, 12)]
    assert [float(text.get("x")) for text in texts] == list(range(11))
    sizes = [float(text.get("font-size")) for text in texts]
    assert sizes == [4.2] * 9 + [3.0] * 2
    for text, size in zip(texts, sizes, strict=True):
        assert (
            2.0 < float(text.get("y")) < 2.0 + size / 2
        )  # digits are 0.7 of the size high: half of it is .36
    assert "numbers" not in groups(areas_svg(flat(shapely.box(0, 0, 1, 1))))


def test_enclosed_ground_is_told_by_its_role() -> None:
    areas = replace(pieces.areas(), enclosed=1)
    features = json.loads(areas_geojson(areas))["features"]
    assert [feature["properties"].get("role") for feature in features] == [None, "ground"]
    for writer in (areas_svg, curved_areas_svg):
        groups = re.findall(r"<g ([^>]*)>", writer(areas).decode())
        assert [group.startswith('id="teal"') for group in groups if 'data-role="ground"' in group] == [True]
    for writer in (areas_geojson, areas_svg, curved_areas_svg):
        assert b"role" not in writer(pieces.areas())

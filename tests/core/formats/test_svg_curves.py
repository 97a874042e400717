"""Areas in curves: within their bound, the same for both neighbors, corners and lines as they were."""

from __future__ import annotations

import re
from dataclasses import replace
from unittest import mock

import numpy as np
import pytest
import shapely
from hypothesis import strategies as st

from reliefsmith.formats import areas_svg, curved_areas_svg, svg_curves
from reliefsmith.formats.arcs import shared_arcs
from reliefsmith.formats.curves import CURVE_MM, curved, flattened
from reliefsmith.formats.svg_curves import curves_of
from reliefsmith.model import FlatAreas, Frame
from reliefsmith.polygons import noded_coverage
from tiers import examples

from .alongcurves import FINE, assert_within


def flat(*shapes: shapely.Geometry) -> FlatAreas:
    """A coverage on the grid, earlier shapes above later ones."""
    polygons = noded_coverage([shapely.MultiPolygon(list(shapely.get_parts(shape))) for shape in shapes])
    colors = np.arange(3 * len(polygons), dtype=np.uint8).reshape(-1, 3) * 20
    low_x, low_y, high_x, high_y = shapely.union_all(polygons).bounds
    return FlatAreas(
        polygons, colors, Frame(0.1, (0.0, 0.0), 0.0, (400, 400)), (high_x - low_x, high_y - low_y)
    )


def drawn(svg: bytes) -> list[list[list[np.ndarray]]]:
    """Read the paths: for each area its rings, each a list of lines (2, 2) and curves (4, 2), y up again."""
    areas = []
    for data in re.findall(r' d="([^"]*)"', svg.decode()):
        rings = []
        for ring in re.findall(r"M([^M]*)Z", data):
            start, *parts = re.split(r"(?=[LC])", ring)
            here = _points(start)[0]
            pieces = []
            for part in parts:
                points = np.concatenate([here[None], _points(part[1:])])
                size = 2 if part[0] == "L" else 4
                assert len(points) == size
                pieces.append(points)
                here = points[-1]
            assert (pieces[0][0] == here).all(), "a ring ends where it began"
            rings.append(pieces)
        areas.append(rings)
    return areas


def _points(text: str) -> np.ndarray:
    return np.array([pair.split(",") for pair in text.split()], dtype=np.float64) * (1, -1)


def polygon_of(rings: list[list[np.ndarray]], steps: int = FINE) -> shapely.Geometry:
    """The shape that rings enclose by the rule of even and odd."""
    shape: shapely.Geometry = shapely.MultiPolygon()
    for pieces in rings:
        shape = shapely.symmetric_difference(shape, shapely.Polygon(flattened(pieces, steps)))
    return shape


def test_a_square_stays_four_lines() -> None:
    (rings,) = drawn(curved_areas_svg(flat(shapely.box(-10, -10, 10, 10))))
    assert [len(piece) for piece in rings[0]] == [2, 2, 2, 2]


def test_a_star_keeps_its_tips_and_its_straight_sides() -> None:
    turns = np.pi * np.arange(10) / 5
    radius = np.where(np.arange(10) % 2, 6.0, 15.0)
    star = np.stack((radius * np.sin(turns), radius * np.cos(turns)), axis=1).round(3)
    (rings,) = drawn(curved_areas_svg(flat(shapely.Polygon(star))))
    assert [len(piece) for piece in rings[0]] == [2] * 10
    assert {tuple(piece[0]) for piece in rings[0]} == {tuple(point) for point in star.tolist()}


@pytest.mark.parametrize("radius", [0.5, 3.0, 20.0])
def test_a_circle_is_a_few_smooth_curves(radius: float) -> None:
    """A cubic for a quarter circle is off by 0.00027 of the radius; eighths are off by 64 times less."""
    (rings,) = drawn(curved_areas_svg(flat(shapely.Point(0, 0).buffer(radius, quad_segs=32))))
    (pieces,) = rings
    assert all(len(piece) == 4 for piece in pieces)
    assert len(pieces) <= 12
    assert np.abs(np.hypot(*flattened(pieces, FINE).T) - radius).max() <= CURVE_MM
    ends = np.array([piece[3] - piece[2] for piece in pieces])
    starts = np.roll([piece[1] - piece[0] for piece in pieces], -1, axis=0)
    cosine = (ends * starts).sum(axis=1) / np.hypot(*ends.T) / np.hypot(*starts.T)
    assert np.degrees(np.arccos(np.clip(cosine, -1, 1))).max() < 1.0, "no kink where curves join"


def test_neighbors_have_the_same_curves_between_them() -> None:
    disc = shapely.Point(0, 0).buffer(8, quad_segs=24)
    wave = [(x, 2 * np.sin(x)) for x in np.linspace(-12, 12, 200)]
    upper = shapely.Polygon([*wave, (12, 12), (-12, 12)])
    areas = flat(disc, upper, shapely.box(-12, -12, 12, 12))
    found = drawn(curved_areas_svg(areas))
    seen: dict[tuple[float, ...], int] = {}
    for rings in found:
        for piece in (piece for pieces in rings for piece in pieces):
            one, other = tuple(piece.ravel().tolist()), tuple(piece[::-1].ravel().tolist())
            seen[min(one, other)] = seen.get(min(one, other), 0) + 1
    inner = [key for key, times in seen.items() if times == 2]
    assert set(seen.values()) == {1, 2}
    assert len(inner) > 10
    # Only the outline of the whole square is drawn once.
    for key, times in seen.items():
        if times == 1:
            assert np.abs(np.reshape(key, (-1, 2))).max(axis=1).min() == 12.0
    shapes = [polygon_of(rings) for rings in found]
    assert shapely.union_all(shapes).area == pytest.approx(24 * 24, abs=1e-6)
    assert sum(shape.area for shape in shapes) == pytest.approx(24 * 24, abs=1e-6)


@examples(3, 8, st.integers(0, 2**32 - 1))
def test_curves_of_a_coverage_are_a_coverage_within_the_bound(seed: int) -> None:
    """Blobs over each other, some as thin as 0.02 mm; what crosses as curves must have stayed lines."""
    rng = np.random.default_rng(seed)
    blobs = []
    for _ in range(5):
        turns = np.linspace(0, 2 * np.pi, 72, endpoint=False)
        radius = rng.uniform(3, 8) * (1 + 0.25 * np.sin(rng.integers(2, 6) * turns + rng.uniform(0, 6)))
        blob = shapely.Polygon(np.stack((radius * np.cos(turns), radius * np.sin(turns)), axis=1))
        thin = blob.boundary.buffer(rng.uniform(0.01, 0.4))
        blobs.append(shapely.affinity.translate(rng.choice([blob, thin]), *rng.uniform(-6, 6, 2)))
    areas = flat(*blobs)
    arcs = shared_arcs(areas.polygons)
    curves = curves_of(arcs)
    for pieces, points in zip(curves, arcs.points, strict=True):
        assert_within(pieces, points)
    with mock.patch.object(svg_curves, "curves_of", return_value=curves):  # they took most of the time
        shapes = [polygon_of(rings, 24) for rings in drawn(curved_areas_svg(areas))]
    whole = shapely.union_all(areas.polygons)
    for shape, polygon in zip(shapes, areas.polygons, strict=True):
        assert shape.area == pytest.approx(polygon.area, abs=CURVE_MM * polygon.length)
    assert sum(shape.area for shape in shapes) == pytest.approx(shapely.union_all(shapes).area, abs=1e-6), (
        "no overlap"
    )
    assert shapely.symmetric_difference(shapely.union_all(shapes), whole).area <= CURVE_MM * whole.length


def test_arcs_that_would_cross_as_curves_stay_lines() -> None:
    """An arch in 48 chords and its band 0.002 mm outside: curves within 0.01 mm of both cross."""
    turns = np.linspace(0, np.pi, 49)
    coarse = np.stack((10 * np.cos(turns), 10 * np.sin(turns)), axis=1)
    inside = shapely.Polygon(coarse)
    band = shapely.Polygon([(-11, -1), (11, -1), (11, 11), (-11, 11)]) - inside.buffer(
        0.002, join_style="mitre"
    )
    apart = shapely.Point(40, 0).buffer(5, quad_segs=24)
    arcs = shared_arcs(flat(inside, band, apart).polygons)
    tried, kept = [curved(points) for points in arcs.points], curves_of(arcs)

    def cross(found: list[list[np.ndarray]]) -> bool:
        lines = np.array([shapely.LineString(flattened(pieces, FINE)) for pieces in found])
        return bool(len(shapely.STRtree(lines).query(lines, predicate="crosses")[0]))

    assert cross(tried)
    assert not cross(kept)
    assert any(len(piece) == 4 for pieces in tried for piece in pieces)
    far = [points[:, 0].min() > 30 for points in arcs.points]
    assert all(len(piece) == 4 for pieces, away in zip(kept, far, strict=True) if away for piece in pieces)
    assert sum(far) == 1


def test_an_arc_that_would_cross_itself_as_a_curve_stays_lines_alone() -> None:
    """An arched ribbon 0.004 mm wide in chords that lie 0.0054 mm off their arcs, and a disc far from it."""
    turns = np.linspace(0.3, np.pi - 0.3, 30)
    line = shapely.LineString(np.stack((10 * np.cos(turns), 10 * np.sin(turns)), axis=1))
    ribbon = line.buffer(0.002, cap_style="flat", join_style="mitre")
    disc = shapely.Point(40, 0).buffer(5, quad_segs=24)
    arcs = shared_arcs(flat(ribbon, disc).polygons)
    thin, round_ = sorted(range(2), key=lambda k: arcs.points[k][:, 0].max())
    tried, kept = [curved(points) for points in arcs.points], curves_of(arcs)
    assert not shapely.LineString(flattened(tried[thin], FINE)).is_simple
    assert all(len(piece) == 2 for piece in kept[thin])
    assert all(len(piece) == 4 for piece in kept[round_])


def test_a_color_without_area_does_not_keep_others_from_being_drawn() -> None:
    areas = flat(shapely.box(0, 0, 5, 5))
    empty = replace(
        areas,
        polygons=(*areas.polygons, shapely.MultiPolygon()),
        colors=np.array([(1, 2, 3), (4, 5, 6)], np.uint8),
    )
    first, second = drawn(curved_areas_svg(empty))
    assert [len(piece) for piece in first[0]] == [2] * 4
    assert second == []


def test_nothing_but_the_paths_differs_from_the_drawing_in_lines() -> None:
    areas = flat(shapely.Point(0, 0).buffer(5), shapely.box(-9, -9, 9, 9))
    lines, curves = (
        re.sub(r' d="[^"]*"', "", svg.decode()) for svg in (areas_svg(areas), curved_areas_svg(areas))
    )
    assert lines == curves

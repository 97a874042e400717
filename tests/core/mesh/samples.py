"""Shapes for the tests of solids: named samples on the grid, and hypothesis strategies."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import strategies as st

from reliefsmith.polygons import as_multi, noded_coverage


def box_with_holes(holes: int) -> shapely.Polygon:
    """Return a bar of 10 mm for each hole plus one, 20 mm wide, with square holes of 4 mm in a row."""
    bar = shapely.box(0, 0, 10 * (holes + 1), 20)
    cut = [shapely.box(10 * k + 8, 8, 10 * k + 12, 12) for k in range(holes)]
    return bar.difference(shapely.union_all(cut)) if cut else bar


def round_plate(points: int, *, holes: int = 0, hole_points: int = 8) -> shapely.Polygon:
    """Return a wavy round plate of 60 mm on the grid, with round holes in a square pattern."""
    turn = np.linspace(0, 2 * np.pi, points, endpoint=False)
    radius = 30 + 0.6 * np.sin(17 * turn)
    outline = np.round(np.column_stack([radius * np.cos(turn), radius * np.sin(turn)]), 3)
    side = int(np.ceil(np.sqrt(holes))) or 1
    around = np.linspace(0, 2 * np.pi, hole_points, endpoint=False)
    disc = np.column_stack([np.cos(around), np.sin(around)]) * 40 / side * 0.3
    centers = [((k % side + 0.5) / side * 40 - 20, (k // side + 0.5) / side * 40 - 20) for k in range(holes)]
    rings = [np.round(disc + center, 3) for center in centers]
    return noded_coverage([shapely.Polygon(outline, rings)])[0].geoms[0]


def checkerboard(side: int, square: float = 2.0) -> tuple[shapely.MultiPolygon, shapely.MultiPolygon]:
    """Return the white and the black squares of a board; squares of one color touch at corners."""
    squares: tuple[list[shapely.Polygon], list[shapely.Polygon]] = ([], [])
    for row in range(side):
        for column in range(side):
            x, y = column * square, row * square
            squares[(row + column) % 2].append(shapely.box(x, y, x + square, y + square))
    return as_multi(squares[0]), as_multi(squares[1])


TOUCHING: dict[str, shapely.Geometry] = {
    "two corners": shapely.MultiPolygon([shapely.box(0, 0, 5, 5), shapely.box(5, 5, 9, 9)]),
    "corner on an edge": shapely.MultiPolygon(
        [shapely.box(0, 0, 5, 5), shapely.Polygon([(2, 5), (4, 8), (1, 8)])]
    ),
    "opening at the outline": shapely.Polygon([(0, 0), (8, 0), (8, 8), (0, 8)], [[(0, 4), (3, 6), (3, 2)]]),
    "two openings": shapely.Polygon(
        [(0, 0), (9, 0), (9, 9), (0, 9)],
        [[(2, 2), (2, 4), (4, 4), (4, 2)], [(4, 4), (4, 6), (6, 6), (6, 4)]],
    ),
    "checkerboard": checkerboard(4)[0],
}

APART: dict[str, shapely.Geometry] = {
    "triangle": shapely.Polygon([(0, 0), (4, 0), (0, 3)]),
    "square": shapely.box(-5, -5, 5, 5),
    "collinear points": shapely.Polygon([(0, 0), (1, 0), (2, 0), (3, 0), (3, 3), (1, 3), (0, 3), (0, 1)]),
    "three openings": box_with_holes(3),
    "island in an opening": shapely.MultiPolygon([box_with_holes(1), shapely.box(9, 9, 11, 11)]),
    "openings in line": shapely.box(0, 0, 20, 10)
    - shapely.union_all([shapely.box(x, 4, x + 2, 6) for x in (2, 6, 10, 14)]),
    "needle": shapely.Polygon([(0, 0), (20, 0), (20, 0.001)]),
}


@st.composite
def plates(draw: st.DrawFn) -> shapely.Polygon:
    """Draw a star-shaped plate on the grid with up to four round openings that may be cut by each other."""
    count = draw(st.integers(3, 24))
    radii = np.array(draw(st.lists(st.floats(6, 30), min_size=count, max_size=count)))
    turn = 2 * np.pi * np.arange(count) / count
    shape: shapely.Geometry = shapely.Polygon(np.column_stack([np.cos(turn), np.sin(turn)]) * radii[:, None])
    for x, y, radius in draw(
        st.lists(st.tuples(st.floats(-8, 8), st.floats(-8, 8), st.floats(0.2, 3)), max_size=4)
    ):
        shape = shape.difference(shapely.Point(x, y).buffer(radius, quad_segs=4))
    pieces = noded_coverage([as_multi(shape)])[0].geoms
    return max(pieces, key=lambda piece: piece.area)


@st.composite
def mosaics(draw: st.DrawFn) -> list[shapely.MultiPolygon]:
    """Draw colors on a coarse raster: cells of one color touch at corners in every way."""
    rows, columns = draw(st.integers(2, 6)), draw(st.integers(2, 6))
    cells = draw(st.lists(st.integers(0, 3), min_size=rows * columns, max_size=rows * columns))
    colors: dict[int, list[shapely.Polygon]] = {}
    for index, color in enumerate(cells):
        row, column = divmod(index, columns)
        colors.setdefault(color, []).append(shapely.box(column, row, column + 1, row + 1))
    return [as_multi(shapely.union_all(colors[key])) for key in sorted(colors)]

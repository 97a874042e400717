"""Shapes for the tests of the plane: named samples and hypothesis strategies."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import strategies as st


@st.composite
def stars(draw: st.DrawFn, least: float = 3.0, most: float = 20.0) -> shapely.Polygon:
    """Draw a star-shaped polygon: corners at even angles round a center, with radii of their own."""
    count = draw(st.integers(3, 14))
    radii = draw(st.lists(st.floats(least, most), min_size=count, max_size=count))
    center = draw(st.tuples(st.floats(-10, 10), st.floats(-10, 10)))
    angles = 2 * np.pi * np.arange(count) / count
    points = np.column_stack([np.cos(angles), np.sin(angles)]) * np.array(radii)[:, None]
    return shapely.Polygon(points + np.array(center))


@st.composite
def colored(draw: st.DrawFn) -> list[shapely.MultiPolygon]:
    """Draw two to four areas that do not overlap: stars, each with the earlier ones cut away."""
    areas: list[shapely.MultiPolygon] = []
    taken: shapely.Geometry = shapely.Polygon()
    for star in draw(st.lists(stars(), min_size=2, max_size=4)):
        left = star.difference(taken)
        parts = [p for p in shapely.get_parts(left) if p.geom_type == "Polygon" and p.area > 0.5]
        if parts:
            areas.append(shapely.MultiPolygon(parts))
            taken = taken.union(star)
    return areas


def ring(outer: float, inner: float) -> shapely.Polygon:
    """Return a square frame round the origin with these half sides."""
    return shapely.box(-outer, -outer, outer, outer) - shapely.box(-inner, -inner, inner, inner)


ZOO: dict[str, shapely.Geometry] = {
    "empty": shapely.MultiPolygon(),
    "square": shapely.box(-5, -5, 5, 5),
    "frame": ring(5, 2),
    "island in a frame": shapely.MultiPolygon([ring(8, 5), shapely.box(-2, -2, 2, 2)]),
    "corners touch": shapely.MultiPolygon([shapely.box(0, 0, 2, 2), shapely.box(2, 2, 4, 4)]),
    "bar": shapely.box(0, 0, 20, 0.3),
    "dumbbell": shapely.union_all(
        [shapely.box(0, 0, 4, 4), shapely.box(8, 0, 12, 4), shapely.box(3, 1.9, 9, 2.1)]
    ),
}

"""How near a curve and the polyline that it stands for lie to each other."""

from __future__ import annotations

import numpy as np
import shapely

from reliefsmith.formats.curves import CURVE_MM, flattened

FINE = 200


def away(points: np.ndarray, line: shapely.Geometry) -> float:
    return float(shapely.distance(shapely.points(points), line).max())


def assert_within(pieces: list[np.ndarray], points: np.ndarray) -> None:
    """Both ways, the polyline looked at every 0.02 mm or finer."""
    assert (pieces[0][0] == points[0]).all()
    assert (pieces[-1][-1] == points[-1]).all()
    line, curve = shapely.LineString(points), shapely.LineString(flattened(pieces, FINE))
    assert away(shapely.get_coordinates(curve), line) <= CURVE_MM
    # Chords of the 200 steps lie within 1e-4 of the curve at these sizes.
    assert away(shapely.get_coordinates(shapely.segmentize(line, 0.02)), curve) <= CURVE_MM + 1e-4

"""Write areas as SVG in cubic Bezier curves; two neighbors have the very same curves between them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from ..colorimetry.words import unique_names
from ..model.areas import FlatAreas
from .arcs import Arcs, shared_arcs
from .curves import curved, flattened
from .decimals import exact_mm, filled
from .svg import areas_drawing

__all__ = ["curved_areas_svg", "curves_of"]

Points = npt.NDArray[np.float64]
Pieces = list[Points]


def curved_areas_svg(areas: FlatAreas, names: Sequence[str] | None = None) -> bytes:
    """Write the areas of flat color in curves, one group for each, in the order of `areas.colors`.

    The curves lie within `curves.CURVE_MM` of the areas' boundaries; corners and the points where boundaries
    meet stay, and so do straight lines.

    Raises
    ------
    GeometryError
        If nothing is left to draw.

    Examples
    --------
    >>> import numpy as np
    >>> from reliefsmith.walk.pipeline import find_areas
    >>> picture = np.full((60, 90, 3), 255, dtype=np.uint8)
    >>> picture[10:50, 20:70] = 200, 40, 45  # a red field on paper
    >>> b'width="68mm"' in curved_areas_svg(find_areas(picture))
    True
    """
    colors = [(int(red), int(green), int(blue)) for red, green, blue in areas.colors]
    names = unique_names(colors) if names is None else names
    paths = [""] * len(colors)
    if not all(polygon.is_empty for polygon in areas.polygons):
        arcs = shared_arcs(areas.polygons)
        paths = _paths(arcs, curves_of(arcs))
    return areas_drawing(areas, list(zip(names, colors, paths, strict=True)))


def curves_of(arcs: Arcs) -> list[Pieces]:
    """Return the lines and curves of each arc; arcs that would cross others as curves stay lines."""
    found = [curved(points) for points in arcs.points]
    if _apart(found):
        return found
    for index in _crossing(found):
        found[index] = _lines(arcs.points[index])
    return found if _apart(found) else [_lines(points) for points in arcs.points]


def _lines(points: Points) -> Pieces:
    return [points[start : start + 2] for start in range(len(points) - 1)]


def _drawn(pieces: Pieces) -> list[Points]:
    """Return the points along an arc, in two halves: a closed line has no ends of its own."""
    points = flattened(pieces)
    middle = len(points) // 2
    return [points[: middle + 1], points[middle:]]


def _apart(found: list[Pieces]) -> bool:
    """Tell whether arcs meet nowhere but at their ends."""
    halves = [half for pieces in found for half in _drawn(pieces) if len(half) > 1]
    return bool(shapely.MultiLineString(halves).is_simple)


def _crossing(found: list[Pieces]) -> list[int]:
    """Return the arcs that cross another or themselves."""
    lines = np.array([shapely.LineString(flattened(pieces)) for pieces in found], dtype=object)
    one, other = shapely.STRtree(lines).query(lines, predicate="crosses")
    selves = np.flatnonzero(~shapely.is_simple(lines))
    indices: list[int] = np.unique(np.concatenate([one, other, selves])).tolist()
    return indices


def _paths(arcs: Arcs, curves: list[Pieces]) -> list[str]:
    """Return the path data of each area, y down."""
    data = [tuple(_data(way) for way in (pieces, _backward(pieces))) for pieces in curves]
    paths = []
    for rings in arcs.rings:
        text = ""
        for ring in rings:
            first, backward = ring[0]
            start = arcs.points[first][-1 if backward else 0]
            text += f"M{_numbers(start[None])}{''.join(data[arc][way] for arc, way in ring)}Z"
        paths.append(text)
    return paths


def _backward(pieces: Pieces) -> Pieces:
    return [piece[::-1] for piece in reversed(pieces)]


def _data(pieces: Pieces) -> str:
    return "".join(f"{'L' if len(piece) == 2 else 'C'}{_numbers(piece[1:])}" for piece in pieces)


def _numbers(points: Points) -> str:
    turned = exact_mm(points * np.array([1.0, -1.0]))
    return filled("%r,%r ", turned)[:-1]

"""From source pixels to millimetres: turned straight, scaled, centered, on the 1 um grid."""

from __future__ import annotations

import math

import numpy as np
import shapely

from ..errors import GeometryError
from ..model import FlatAreas, Frame, TracedAreas
from ..model.arrays import Points, Shapes
from ..polygons.coverage import noded_coverage
from ..polygons.grid import snapped
from ..progress import Progress, Steps, drained
from ..recipe.sections import SizeSettings
from .numbers import numbered

__all__ = ["scale", "scale_steps"]


def scale_steps(areas: TracedAreas, size: SizeSettings) -> Steps[FlatAreas]:
    """Turn areas straight and scale them to the size that is asked for; never traces again.

    Parameters
    ----------
    areas : TracedAreas
    size : SizeSettings
        Width or height of the bounding box of all areas, else its longest side.

    Returns
    -------
    FlatAreas
        A valid coverage on the 1 um grid, the origin at the centre of its bounding box, y up. Colors
        that have no area left are left out.

    Raises
    ------
    GeometryError
        If there is no area, or the picture is so large for the width that nothing is left of it.
    """
    yield Progress("scaling", 0.0)
    frame = _frame(areas, size)
    placed = [shapely.transform(polygon, lambda points: _to_mm(points, frame)) for polygon in areas.polygons]
    yield Progress("putting areas on the grid", 0.4)
    polygons = _on_grid(placed)
    numbers = numbered(areas, frame.mm_per_px, lambda points: _to_mm(points, frame))
    kept = [index for index, polygon in enumerate(polygons) if not polygon.is_empty]
    if not kept:
        raise GeometryError("the artwork has no area left at this size; make it larger")
    left, low, right, high = shapely.total_bounds(np.asarray(polygons, dtype=object))
    return FlatAreas(
        polygons=tuple(polygons[index] for index in kept),
        colors=areas.colors[kept],
        frame=frame,
        size_mm=(_rounded(right - left), _rounded(high - low)),
        findings=areas.findings,
        notes=areas.notes,
        ground=areas.ground,
        enclosed=kept.index(areas.enclosed) if areas.enclosed in kept else None,
        numbered=numbers,
    )


def _frame(areas: TracedAreas, size: SizeSettings) -> Frame:
    """Return the similarity that gives the bounding box of all areas the size asked for."""
    every = np.asarray(areas.polygons, dtype=object)
    points = _turned(shapely.get_coordinates(every), -areas.turn_deg)
    if not len(points):
        raise GeometryError("the artwork has no areas; check background.mode and colors.omit")
    low, high = points.min(axis=0), points.max(axis=0)
    width, height = high - low
    if size.width_mm is not None:
        mm_per_px = size.width_mm / width
    elif size.height_mm is not None:
        mm_per_px = size.height_mm / height
    else:
        mm_per_px = size.longest_mm / max(width, height)
    # The upper left corner is put on the grid, so that the width is exact and not only its two ends.
    extent = (high - low) * mm_per_px
    corner = snapped(np.array([[-extent[0] / 2, -extent[1] / 2]]))[0]
    origin = _turned((low - corner / mm_per_px)[None, :], areas.turn_deg)[0]
    place = (float(origin[0]), float(origin[1]))
    return Frame(float(mm_per_px), place, areas.turn_deg, areas.image_px, areas.to_source)


def _turned(points: Points, degrees: float) -> Points:
    """Turn points in pixels (y down) about (0, 0), positive clockwise as seen."""
    if degrees == 0.0:
        return points
    cosine, sine = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    x, y = points[:, 0], points[:, 1]
    return np.stack((cosine * x - sine * y, sine * x + cosine * y), axis=1)


def _to_mm(points: Points, frame: Frame) -> Points:
    local = _turned(points - np.array(frame.origin_px), -frame.turn_deg)
    return snapped(local * np.array([frame.mm_per_px, -frame.mm_per_px]))


def _on_grid(rounded: list[shapely.MultiPolygon]) -> tuple[shapely.MultiPolygon, ...]:
    """Return a valid coverage; rounded neighbors still share vertices, noding mends the rest."""
    try:
        clean = shapely.remove_repeated_points(np.asarray(rounded, dtype=object))
    except shapely.GEOSException:  # a ring of which two points are left
        return noded_coverage(_mendable(rounded))
    if _collapsed(clean) or not shapely.is_valid(clean).all() or not shapely.coverage_is_valid(clean):
        return noded_coverage(_mendable(rounded))
    return tuple(clean)


def _collapsed(polygons: Shapes) -> bool:
    rings = shapely.get_rings(shapely.get_parts(polygons))
    return bool((shapely.area(shapely.polygons(rings)) == 0).any())


def _mendable(polygons: list[shapely.MultiPolygon]) -> list[shapely.MultiPolygon]:
    """Give every polygon a valid interior before noding; its boundary stays where it is."""
    mended = []
    for polygon in polygons:
        parts = shapely.get_parts(shapely.make_valid(polygon, method="structure", keep_collapsed=False))
        faces = [part for part in parts if shapely.get_dimensions(part) == 2]
        flat = shapely.get_parts(np.asarray(faces, dtype=object)) if faces else []
        mended.append(shapely.MultiPolygon(list(flat)))
    return mended


def _rounded(value: float) -> float:
    """Drop the noise that subtracting two grid numbers leaves."""
    return round(float(value), 3)


scale = drained(scale_steps)

"""Parts as they stand against those last made: moved, scaled, tilted, taller, or not of the relief."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import affinity

from ..findings import Finding, finding
from ..mesh import box, cut
from ..model import Part
from ..model.arrays import Triangles, Vertices
from ..progress import Progress, Steps, drained
from ..recipe.sections import HeightSettings
from .layerchecks import SHARED_MM2

__all__ = ["compare_parts", "compare_parts_steps"]

PLACED_MM = 0.02
"""A part that is off by more has been moved: ten times the grids of files, a tenth of a nozzle's line."""

RESHAPED_MM = 0.05
"""Outlines may differ by this on average: remeshing at 0.1 to 0.2 mm rounds them by less."""

_CUT_AT = 0.4
"""Share of a part's height at which its outline is taken: above a drawn-in foot, below shaped tops."""

_LEVEL = 0.9999
_FLAT_SHARE = 0.02
"""A flat top counts from this share of the part's outline."""

Place = tuple[float, float, float]


def compare_parts_steps(
    made: Sequence[Part], now: Sequence[Part], heights: HeightSettings
) -> Steps[tuple[Finding, ...]]:
    """Compare parts with those last made, by name, whatever became of their triangles.

    Parameters
    ----------
    made, now : sequence of Part
        In one frame.
    heights : HeightSettings
        Whose layers the flat tops lie on.
    """
    here = {part.name: part for part in now if len(part.triangles)}
    floor = min((float(part.vertices[:, 2].min()) for part in made), default=0.0)
    found: list[Finding] = []
    for index, part in enumerate(made):
        if part.name not in here:
            found.append(finding("part-missing", f"{part.name} is missing.", _middle(part)))
            continue
        same = here[part.name]
        if same.vertices is part.vertices and same.triangles is part.triangles:
            continue
        yield Progress(f"comparing {part.name} with what was made", index / len(made))
        found += yield from _placed_steps(part, same)
        found += _taller(part, same)
        yield Progress(f"looking at the tops of {part.name}", index / len(made))
        known = [z for z, _, _ in _flat_tops(part)]
        yield Progress(f"looking at the tops of {part.name}", index / len(made))
        found += _off_layers(known, same, heights, floor)
    names = {part.name for part in made}
    for part in here.values():
        if part.name not in names:
            words = f"{part.name} is no part of the relief; it is taken with it."
            found.append(finding("solid-added", words, _middle(part)))
    return tuple(found)


compare_parts = drained(compare_parts_steps)


def _placed_steps(made: Part, now: Part) -> Steps[list[Finding]]:
    """Tell of a part that was moved, tilted, scaled or got another outline."""
    low, slope = _underside(made)
    yield Progress(f"comparing {made.name} with what was made")
    low_now, slope_now = _underside(now)
    yield Progress(f"comparing {made.name} with what was made")
    rise = low_now - low
    height = float(np.ptp(made.vertices[:, 2]))
    z_mm = float(made.vertices[:, 2].min()) + _CUT_AT * height
    before = cut(made.vertices, made.triangles, z_mm)
    yield Progress(f"comparing {made.name} with what was made")
    after = cut(now.vertices, now.triangles, z_mm + rise)
    yield Progress(f"comparing {made.name} with what was made")
    if before.is_empty:
        return []
    if after.is_empty:
        return [finding("part-moved", f"{made.name} is not where it was made.", _middle(now))]
    found = []
    shift = np.array([*(np.subtract(after.centroid.coords[0], before.centroid.coords[0])), rise])
    if np.linalg.norm(shift) > PLACED_MM:
        way = ", ".join(f"{round(value, 2) + 0.0:.2f}" for value in shift)  # no "-0.00"
        words = f"{made.name} is {np.linalg.norm(shift):.2f} mm from where it was made ({way} mm)."
        found.append(finding("part-moved", words, _middle(now)))
    tilt = float(np.hypot(*(slope_now - slope)))
    if tilt * _reach(before) > PLACED_MM:
        words = f"{made.name} is tilted by {math.degrees(math.atan(tilt)):.2f} degrees."
        found.append(finding("part-tilted", words, _middle(now)))
    found += _outline(made, now, before, affinity.translate(after, -shift[0], -shift[1]))
    return found


def _outline(
    made: Part, now: Part, before: shapely.MultiPolygon, after: shapely.MultiPolygon
) -> list[Finding]:
    """Tell of an outline that was scaled, or is another one; both lie on one centroid."""
    if _apart(before, after) <= PLACED_MM:
        return []
    sizes = [np.subtract(shape.bounds[2:], shape.bounds[:2]) for shape in (before, after)]
    wide, deep = sizes[1] / sizes[0]
    back = affinity.scale(after, 1 / wide, 1 / deep, origin=before.centroid)
    is_scaled = np.abs(sizes[1] - sizes[0]).max() > PLACED_MM
    if is_scaled and _apart(before, back) <= max(PLACED_MM, _apart(before, after) / 4):
        words = f"{made.name} is scaled by {wide:.4g} in x and {deep:.4g} in y."
        return [finding("part-scaled", words, _middle(now))]
    if _apart(before, after) <= RESHAPED_MM:
        return []
    words = f"{made.name} is turned, or its outline is another one than was made."
    return [finding("part-reshaped", words, _middle(now))]


def _apart(one: shapely.MultiPolygon, other: shapely.MultiPolygon) -> float:
    """Return how far two outlines lie apart on average; for a shift of one shape, about that shift.

    A convex outline of length L that is moved by d changes 2 L d / pi of its area, averaged over directions
    (Cauchy).
    """
    changed = shapely.symmetric_difference(one, other).area
    return float(math.pi / 2 * changed / one.length)


def _taller(made: Part, now: Part) -> list[Finding]:
    top, top_now = (float(part.vertices[:, 2].max()) for part in (made, now))
    if abs(top_now - top) <= PLACED_MM:
        return []
    way = "higher" if top_now > top else "lower"
    highest = now.vertices[int(np.argmax(now.vertices[:, 2]))]
    words = f"{now.name} reaches {top_now:.2f} mm, {abs(top_now - top):.2f} mm {way} than it was made."
    return [finding("part-taller", words, _rounded(highest))]


def _off_layers(as_made: Sequence[float], now: Part, heights: HeightSettings, floor: float) -> list[Finding]:
    """Find flat tops between two layers, which print lower or higher than they stand, unless made so."""
    for z, area, place in _flat_tops(now):
        above = (z - floor - heights.first_layer_mm) / heights.layer_mm
        off = abs(above - round(above)) * heights.layer_mm
        known = any(abs(z - other) <= PLACED_MM for other in as_made)
        if off > PLACED_MM and not known:
            words = f"{area:.1f} mm2 of the top of {now.name} lie {off:.2f} mm off the layers, at {z:.2f} mm."
            return [finding("off-layers", words, place)]
    return []


def _flat_tops(part: Part) -> list[tuple[float, float, Place]]:
    """Return height, area and a place of each flat top of some size."""
    corners, normals, areas = _faces(part.vertices, part.triangles)
    up = normals[:, 2] > _LEVEL
    if not up.any():
        return []
    z = np.round(corners[up].mean(axis=1)[:, 2], 3)
    levels, first, of = np.unique(z, return_index=True, return_inverse=True)
    sums = np.bincount(of, weights=areas[up])
    large = np.flatnonzero(sums > max(_FLAT_SHARE * float(areas[up].sum()), SHARED_MM2))
    places = corners[up][first[large]].mean(axis=1)
    return [
        (float(levels[index]), float(sums[index]), _rounded(place))
        for index, place in zip(large.tolist(), places, strict=True)
    ]


def _underside(part: Part) -> tuple[float, np.ndarray[tuple[int], np.dtype[np.float64]]]:
    """Return height, below the middle of the box, and slope of the plane through what faces down."""
    corners, normals, areas = _faces(part.vertices, part.triangles)
    down = normals[:, 2] < -0.5
    if not down.any():
        return float(part.vertices[:, 2].min()), np.zeros(2)
    low, high = box(part.vertices)
    places = corners[down].mean(axis=1) - [*((low + high)[:2] / 2), 0.0]
    weight = np.sqrt(areas[down])[:, None]
    columns = np.column_stack([places[:, :2], np.ones(len(places))])
    plane, *_ = np.linalg.lstsq(weight * columns, weight[:, 0] * places[:, 2], rcond=None)
    return float(plane[2]), np.asarray(plane[:2])


def _faces(
    vertices: Vertices, triangles: Triangles
) -> tuple[
    np.ndarray[tuple[int, int, int], np.dtype[np.float64]],
    np.ndarray[tuple[int, int], np.dtype[np.float64]],
    np.ndarray[tuple[int], np.dtype[np.float64]],
]:
    """Return corners (m, 3, 3), unit normals (m, 3) and areas (m,) of triangles."""
    corners = np.asarray(vertices, np.float64)[triangles]
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(across, axis=1)
    return corners, across / np.maximum(length, 1e-300)[:, None], length / 2


def _reach(shape: shapely.MultiPolygon) -> float:
    x0, y0, x1, y1 = shape.bounds
    return math.hypot(x1 - x0, y1 - y0) / 2


def _middle(part: Part) -> Place:
    low, high = box(part.vertices)
    return _rounded((low + high) / 2)


def _rounded(place: np.ndarray[tuple[int], np.dtype[np.float64]]) -> Place:
    x, y, z = (round(float(value), 2) for value in place)
    return (x, y, z)

"""Drawing tools for the samples: curves, brush strokes, and a rasterizer that shares every edge exactly.

A drawing is a list of layers (color index, polygon) in a canvas of pixels, x right and y down; later layers
cover earlier ones. Everything is computed, nothing is traced or copied.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import shapely
from shapely import affinity

__all__ = ["Drawing", "arc", "blob", "disc", "ellipse", "moved", "rasterize", "spline", "stroke", "turned"]

Points = npt.NDArray[np.float64]
_SAMPLES_A_SPAN = 24  # points a curve span is drawn with: edges under a pixel at these sizes
_OVERSAMPLING = 8  # sub-pixels a side; 64 levels of coverage


@dataclass
class Drawing:
    """A picture made of layers of flat color.

    Parameters
    ----------
    size : (int, int)
        Width and height in pixels.
    palette : list of "#rrggbb"
        Index 0 is the ground; the other colors are the art's.
    """

    size: tuple[int, int]
    palette: list[str]
    layers: list[tuple[int, shapely.Geometry]] = field(default_factory=list)

    def add(self, color: int, *shapes: shapely.Geometry) -> None:
        """Put shapes of one color on top of what is there."""
        self.layers += [(color, shape) for shape in shapes]

    def colors(self) -> Points:
        """Return the palette as sRGB bytes (k, 3) in float."""
        return np.array([[int(c[i : i + 2], 16) for i in (1, 3, 5)] for c in self.palette], float)


def spline(points: Sequence[Sequence[float]], *, closed: bool = False) -> Points:
    """Return a smooth curve (n, 2) through `points`: a uniform Catmull-Rom spline."""
    p = np.asarray(points, float)
    p = np.vstack([p[-1], p, p[:2]]) if closed else np.vstack([2 * p[0] - p[1], p, 2 * p[-1] - p[-2]])
    t = np.linspace(0, 1, _SAMPLES_A_SPAN, endpoint=False)[:, None, None]
    a, b, c, d = p[None, :-3], p[None, 1:-2], p[None, 2:-1], p[None, 3:]
    curve = 0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * (b - c) + d - a) * t**3)
    line = curve.transpose(1, 0, 2).reshape(-1, 2)
    return line if closed else np.vstack([line, p[-2]])


def arc(center: Sequence[float], radius: float, start_deg: float, end_deg: float, *, n: int = 96) -> Points:
    """Return points on a circle; angles run clockwise as seen, from the right."""
    t = np.radians(np.linspace(start_deg, end_deg, n))
    return np.column_stack([center[0] + radius * np.cos(t), center[1] + radius * np.sin(t)])


def blob(points: Sequence[Sequence[float]]) -> shapely.Geometry:
    """Return the smooth closed shape through `points`."""
    return shapely.make_valid(shapely.Polygon(spline(points, closed=True)))


def disc(center: Sequence[float], radius: float) -> shapely.Polygon:
    """Return a round shape."""
    return shapely.Polygon(arc(center, radius, 0, 360, n=361)[:-1])


def ellipse(center: Sequence[float], rx: float, ry: float, turn_deg: float = 0.0) -> shapely.Geometry:
    """Return an ellipse, turned clockwise as seen."""
    shape = affinity.scale(disc((0, 0), 1.0), rx, ry, origin=(0, 0))
    return moved(affinity.rotate(shape, turn_deg, origin=(0, 0)), center)


def moved(shape: shapely.Geometry, by: Sequence[float]) -> shapely.Geometry:
    """Return the shape moved by (x, y)."""
    return affinity.translate(shape, by[0], by[1])


def turned(shape: shapely.Geometry, deg: float, center: Sequence[float]) -> shapely.Geometry:
    """Return the shape turned clockwise as seen round `center`."""
    return affinity.rotate(shape, deg, origin=(center[0], center[1]))


def stroke(line: Points, *widths: float) -> shapely.Geometry:
    """Return the mark of a round brush drawn along `line` (n, 2).

    Parameters
    ----------
    line : float array of shape (n, 2)
    *widths : float
        Diameters, spread evenly along the length of the line; two make a taper.
    """
    p = np.asarray(line, float)
    steps = np.hypot(*np.diff(p, axis=0).T)
    p = p[np.concatenate([[True], steps > 1e-9])]
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(p, axis=0).T))])
    radius = np.interp(
        along / along[-1], np.linspace(0, 1, max(len(widths), 2)), np.resize(widths, max(len(widths), 2))
    )
    t = np.radians(np.arange(0, 360, 10.0))
    ring = np.column_stack([np.cos(t), np.sin(t)])
    dots = p[:, None] + 0.5 * radius[:, None, None] * ring
    hulls = shapely.convex_hull(shapely.multipoints(np.concatenate([dots[:-1], dots[1:]], axis=1)))
    return shapely.union_all(hulls)


def _covered(polygon: shapely.Polygon, shape: tuple[int, int]) -> tuple[slice, slice, npt.NDArray[np.bool_]]:
    """Return where sub-pixel centers lie inside, by even-odd crossings: rows, columns and a mask."""
    h, w = shape
    rings = [np.asarray(ring.coords) for ring in (polygon.exterior, *polygon.interiors)]
    a, b = np.vstack([r[:-1] for r in rings]), np.vstack([r[1:] for r in rings])
    low, high = np.minimum(a[:, 1], b[:, 1]), np.maximum(a[:, 1], b[:, 1])
    first = np.clip(np.ceil(low - 0.5), 0, h).astype(np.int64)
    last = np.clip(np.ceil(high - 0.5), 0, h).astype(np.int64)
    counts = last - first
    if counts.sum() == 0:
        return slice(0, 0), slice(0, 0), np.zeros((0, 0), bool)
    edge = np.repeat(np.arange(len(a)), counts)
    row = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts) + first[edge]
    slope = (b[edge, 0] - a[edge, 0]) / (b[edge, 1] - a[edge, 1])
    column = np.ceil(a[edge, 0] + (row + 0.5 - a[edge, 1]) * slope - 0.5)
    column = np.clip(column, 0, w).astype(np.int64)
    r0, r1, c0, c1 = row.min(), row.max() + 1, column.min(), column.max() + 1
    crossings = np.zeros((r1 - r0, c1 - c0), np.uint8)
    np.add.at(crossings, (row - r0, column - c0), 1)
    inside = (np.cumsum(crossings, axis=1, dtype=np.uint8) & 1).astype(bool)
    right = min(c1, w)
    return slice(r0, r1), slice(c0, right), inside[:, : right - c0]


def rasterize(drawing: Drawing) -> npt.NDArray[np.float64]:
    """Return the share (h, w, k) that each palette color has of each pixel.

    Colors are decided for sub-pixels and then counted, so neighbors share an edge without any seam.
    """
    w, h = drawing.size
    n = _OVERSAMPLING
    labels = np.zeros((h * n, w * n), np.uint8)
    for color, shape in drawing.layers:
        for part in shapely.get_parts(affinity.scale(shape, n, n, origin=(0, 0))):
            if part.geom_type == "Polygon":
                rows, columns, mask = _covered(part, labels.shape)
                labels[rows, columns][mask] = color
    shares = np.empty((h, w, len(drawing.palette)))
    for color in range(len(drawing.palette)):
        hits = (labels == color).reshape(h, n, w, n)
        shares[..., color] = hits.sum(axis=(1, 3), dtype=np.int64) / (n * n)
    return shares

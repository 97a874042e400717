"""Outlines of glyphs as polygons in units of their font: curves flattened, rings filled by non-zero rule."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache

import numpy as np
import shapely

from ..errors import RecipeError
from ..mesh.section import wound
from ..model.arrays import Floats
from .fonts import Face, shaping_library

__all__ = ["FLAT_MM", "filled", "glyph_shape", "tolerance_for"]

FLAT_MM = 0.005
"""Largest distance between a curve and its chords: below the steps of a printer's motion, 0.01 mm and more
(common practice, no source)."""

_MOST_POINTS = 20_000
"""Of one glyph, flattened; a letter has hundreds. A limit against files made to take all memory."""

_MOST_STEPS = 256
"""Chords of one curve, likewise; at the tolerance above one as wide as the em has some tens."""


def tolerance_for(units_per_mm: float) -> float:
    """Return how far chords may lie from curves, in units: a power of two, so that sizes share glyphs.

    Examples
    --------
    >>> tolerance_for(280.0)
    1.0
    """
    return float(2.0 ** math.floor(math.log2(FLAT_MM * units_per_mm)))


@lru_cache(maxsize=4096)
def glyph_shape(face: Face, glyph: int, tolerance: float) -> shapely.MultiPolygon:
    """Return the outline of a glyph in units, its origin on the baseline; empty for a space.

    Raises
    ------
    RecipeError
        If it has too many points.
    """
    return filled(_rings(face, glyph, tolerance))


def filled(rings: Sequence[Floats]) -> shapely.MultiPolygon:
    """Return what rings enclose by the non-zero rule: everything that they wind round at least once.

    Parameters
    ----------
    rings : sequence of arrays (n, 2)
        Closed, the first point not repeated; they may cross themselves and each other.

    Examples
    --------
    >>> square = np.array([[0, 0], [4, 0], [4, 4], [0, 4]], dtype=float)
    >>> filled([square, square + 2]).area, filled([square, square[::-1] / 2 + 1]).area
    (28.0, 12.0)
    """
    closed = [np.vstack([ring, ring[:1]]) for ring in rings if len(ring) > 2]
    return wound(closed)[0] if closed else shapely.MultiPolygon()


def _rings(face: Face, glyph: int, tolerance: float) -> list[Floats]:
    """Draw a glyph and cut its curves into chords."""
    rings: list[list[tuple[float, float]]] = []

    def move(x: float, y: float, _data: object) -> None:
        rings.append([(x, y)])

    def line(x: float, y: float, _data: object) -> None:
        rings[-1].append((x, y))

    def curve(*numbers: float) -> None:
        points = np.array([*rings[-1][-1], *numbers]).reshape(-1, 2)
        _chords(rings[-1], points, tolerance)

    library = shaping_library()
    draw = library.DrawFuncs()
    draw.set_move_to_func(move)
    draw.set_line_to_func(line)
    draw.set_quadratic_to_func(_without_data(curve))
    draw.set_cubic_to_func(_without_data(curve))
    draw.set_close_path_func(_nothing)
    face.font.draw_glyph(glyph, draw, None)
    if sum(len(ring) for ring in rings) > _MOST_POINTS:
        raise RecipeError(f"a glyph of {face.title} has more than {_MOST_POINTS} points; take another font")
    return [_distinct(np.array(ring)) for ring in rings]


def _without_data(curve: Callable[..., None]) -> Callable[..., None]:
    return lambda *numbers: curve(*numbers[:-1])


def _nothing(_data: object) -> None:
    """Leave a ring as it is: its end is joined to its start."""


def _chords(ring: list[tuple[float, float]], points: Floats, tolerance: float) -> None:
    """Add the chords of a quadratic or cubic curve, equal steps of its parameter.

    A chord over a step h of the parameter misses the curve by at most h^2 / 8 times the largest second
    derivative, which is 2 or 6 times the largest second difference of the control points (geometry).
    """
    degree = len(points) - 1
    bend = float(np.linalg.norm(np.diff(points, 2, axis=0), axis=1).max()) * degree * (degree - 1)
    steps = min(max(math.ceil(math.sqrt(bend / (8 * tolerance))), 1), _MOST_STEPS)
    along = (np.arange(1, steps + 1) / steps)[:, None]
    share = np.array([math.comb(degree, k) for k in range(degree + 1)])
    weights = share * along ** np.arange(degree + 1) * (1 - along) ** np.arange(degree, -1, -1)
    ring += [(float(x), float(y)) for x, y in weights @ points]


def _distinct(ring: Floats) -> Floats:
    """Return a ring without points that repeat the one before."""
    kept: Floats = ring[(ring != np.roll(ring, 1, axis=0)).any(axis=1)]
    return kept

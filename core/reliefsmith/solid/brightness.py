"""Heights from the picture's brightness: how far up each place of the motifs lies, from 0 to 1."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from ..colorimetry import srgb_to_lab
from ..model import Artwork, Frame
from ..model.arrays import Floats, Ints
from ..polygons import lattice, shrink

__all__ = ["Picture", "Shares", "brightness_shares"]

SAMPLES = 4
"""Samples of the picture across one step: 0.1 mm at a usual nozzle, about two working pixels."""

SMOOTHING = 2
"""Rounds of 1-2-1 smoothing: hides noise, and moves an edge by nothing."""

LEAST_SPAN = 20.0
"""Difference in lightness L* for which the whole rise stands at least: noise of a flat picture stays flat."""

STEEPEST = 1.0
"""Rise over run of slopes between dark and light: at 45 degrees layers recede by as much as they rise."""

_EDGE_PX = 1.5
"""Pixels this near to an edge mix the colors of both sides."""

_MIXED_WEIGHT = 1e-3
"""Mixed pixels count where nothing else is near, as in fine strokes."""

_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Picture:
    """The pixels, and where they lie in millimetres."""

    artwork: Artwork
    frame: Frame


@dataclass(frozen=True, slots=True)
class Shares:
    """How far up each point of a grid lies: values (h, w), 0 to 1; row 0 at the smallest y."""

    values: Floats
    origin_mm: tuple[float, float]
    step_mm: float


def brightness_shares(
    picture: Picture, shape: shapely.Geometry, *, step_mm: float, rise_mm: float, light_is_high: bool
) -> Shares:
    """Return heights from the brightness of the picture inside a shape.

    The lightest place (or the darkest) has the share 1. The whole span of CIE L* makes the whole rise, but at
    least 20 of it. Pixels outside the shape do not count. Heights are smoothed, no slope is steeper than 45
    degrees, and nothing stands up that is narrower than a step.

    Parameters
    ----------
    picture : Picture
    shape : Polygon or MultiPolygon
        In mm, the motifs together.
    step_mm : float
        Of the grid, a bead: finer than that nothing prints.
    rise_mm : float
        Height that stands for a share of 1.
    """
    columns, rows = lattice(shape, step_mm, 2)
    weights, sums = _gathered(picture, shape, (columns, rows), step_mm)
    seen = weights > 0
    for _ in range(SMOOTHING):
        weights, sums = _smoothed(weights), _smoothed(sums)
    known = weights > 0
    below = np.divide(sums, weights, out=np.zeros_like(sums), where=known)  # at most 0: L* less the lightest
    span = max(float(below[seen].max() - below[seen].min()), LEAST_SPAN)
    ends = float(below[seen].max()) if light_is_high else float(below[seen].min())
    shares = np.clip(1.0 - np.abs(below - ends) / span, 0.0, 1.0)
    shares[~known] = np.inf
    shares = _opened(_sloped(shares, STEEPEST * step_mm / rise_mm))
    shares[~known] = 0.0
    # What was left standing has the corners of squares; an average of neighbors is no steeper than they are.
    weight, level = _smoothed(known.astype(np.float64)), _smoothed(shares)
    shares = np.divide(level, weight, out=np.zeros_like(shares), where=known)
    return Shares(shares, (float(columns[0]) * step_mm, float(rows[0]) * step_mm), step_mm)


def _gathered(
    picture: Picture,
    shape: shapely.Geometry,
    nodes: tuple[Ints, Ints],
    step_mm: float,
) -> tuple[Floats, Floats]:
    """Return for each node the weight of its samples, and their weighted sum of L* less the lightest."""
    across = (np.arange(SAMPLES) + 0.5) / SAMPLES - 0.5
    x, y = ((line[:, None] + across).reshape(-1) * step_mm for line in nodes)
    grid_x, grid_y = (item.reshape(-1) for item in np.meshgrid(x, y))
    shapely.prepare(shape)
    inside = np.flatnonzero(shapely.contains_xy(shape, grid_x, grid_y))
    places = np.column_stack([grid_x[inside], grid_y[inside]])
    clear = shrink(shape, _EDGE_PX * picture.frame.mm_per_px / picture.artwork.scale)
    shapely.prepare(clear)
    own = np.where(shapely.contains_xy(clear, *places.T), 1.0, _MIXED_WEIGHT)
    lightness, alpha = _lightness(picture, places)
    weight = np.zeros(len(grid_x))
    weight[inside] = own * np.maximum(alpha, _MIXED_WEIGHT)
    lightest = float(lightness.max(initial=0.0))
    total = np.zeros(len(grid_x))
    total[inside] = weight[inside] * (lightness - lightest)
    size = (len(nodes[1]), SAMPLES, len(nodes[0]), SAMPLES)
    return weight.reshape(size).sum(axis=(1, 3)), total.reshape(size).sum(axis=(1, 3))


def _lightness(picture: Picture, places: Floats) -> tuple[Floats, Floats]:
    """Return CIE L* and opacity of the pixels at places (n, 2) in mm."""
    frame, artwork = picture.frame, picture.artwork
    turn = math.radians(frame.turn_deg)
    right, down = places[:, 0] / frame.mm_per_px, -places[:, 1] / frame.mm_per_px
    x = frame.origin_px[0] + math.cos(turn) * right - math.sin(turn) * down
    y = frame.origin_px[1] + math.sin(turn) * right + math.cos(turn) * down
    high, wide = artwork.alpha.shape
    column = np.clip(np.floor(x * artwork.scale), 0, wide - 1).astype(np.intp)
    row = np.clip(np.floor(y * artwork.scale), 0, high - 1).astype(np.intp)
    lightness = srgb_to_lab(artwork.rgb[row, column])[:, 0]
    return lightness, artwork.alpha[row, column].astype(np.float64)


def _smoothed(values: Floats) -> Floats:
    """Smooth by 1-2-1 along both axes; beyond the border lies nothing."""
    for _ in range(2):
        wide = np.pad(values, ((1, 1), (0, 0)))
        values = (wide[:-2] + 2 * wide[1:-1] + wide[2:]).T / 4
    return values


def _sloped(values: Floats, steepest: float) -> Floats:
    """Lower values until no two neighbors differ by more than a slope allows."""
    while True:
        wide = np.pad(values, 1, constant_values=np.inf)
        around = np.minimum(
            np.minimum(
                np.minimum(wide[:-2, 1:-1], wide[2:, 1:-1]), np.minimum(wide[1:-1, :-2], wide[1:-1, 2:])
            )
            + steepest,
            np.minimum(np.minimum(wide[:-2, :-2], wide[2:, 2:]), np.minimum(wide[:-2, 2:], wide[2:, :-2]))
            + steepest * math.sqrt(2),
        )
        if (values <= around + _ROUNDING).all():
            return values
        values = np.minimum(values, around)


def _opened(values: Floats) -> Floats:
    """Lower what is narrower than two points each way; unknown values, which are infinite, hinder nothing."""
    wide = np.pad(values, ((0, 1), (0, 1)), constant_values=np.inf)
    low = np.minimum(np.minimum(wide[:-1, :-1], wide[1:, :-1]), np.minimum(wide[:-1, 1:], wide[1:, 1:]))
    wide = np.pad(np.where(np.isinf(low), -np.inf, low), ((1, 0), (1, 0)), constant_values=-np.inf)
    high = np.maximum(np.maximum(wide[:-1, :-1], wide[1:, :-1]), np.maximum(wide[:-1, 1:], wide[1:, 1:]))
    return np.where(np.isinf(high), values, np.minimum(high, values))

"""Pictures whose areas are known exactly: polygons clipped by every pixel's square, without any renderer."""

from __future__ import annotations

import numpy as np
import shapely

from reliefsmith.model import Artwork, Separation, TracedAreas

WHITE = (255, 255, 255)
COLORS = ((200, 30, 30), (30, 120, 200), (240, 180, 20), (10, 140, 60), (90, 20, 120))


def coverage_of(polygon: shapely.Geometry, size: int) -> np.ndarray:
    """Return the share of each pixel's square that a polygon covers, exactly."""
    x, y = np.meshgrid(np.arange(size), np.arange(size))
    squares = shapely.box(x, y, x + 1, y + 1)
    shapely.prepare(polygon)
    inside = shapely.contains_properly(polygon, squares)
    touched = shapely.intersects(polygon, squares) & ~inside
    covered = inside.astype(np.float64)
    covered[touched] = shapely.area(shapely.intersection(squares[touched], polygon))
    return covered


def picture_of(
    polygons: list[shapely.Geometry], size: int, *, alpha: bool = False
) -> tuple[Artwork, Separation]:
    """Draw polygons that do not overlap by box anti-aliasing; each pixel's label is its largest share."""
    shares = np.stack([coverage_of(polygon, size) for polygon in polygons])
    colors = np.array(COLORS[: len(polygons)], dtype=np.float64)
    covered = shares.sum(axis=0)
    labels = np.argmax(np.concatenate((1.0 - covered[None], shares)), axis=0).astype(np.uint8)
    art = np.tensordot(shares, colors, axes=(0, 0))
    if alpha:
        rgb, opacity = art / np.maximum(covered, 1e-9)[..., None], covered
    else:
        rgb, opacity = art + (1.0 - covered)[..., None] * np.array(WHITE), np.ones_like(covered)
    artwork = Artwork(
        np.rint(rgb).astype(np.uint8), opacity.astype(np.float32), (size, size), 1.0, alpha, False
    )
    total = np.bincount(labels.ravel(), minlength=len(polygons) + 1)[1:]
    palette = np.array(COLORS[: len(polygons)], dtype=np.uint8)
    return artwork, Separation(labels, palette, None if alpha else WHITE, total / total.sum())


def painted_over(
    layers: list[tuple[shapely.Geometry, tuple[int, int, int]]], size: int, *, alpha: bool = False
) -> Artwork:
    """Paint polygons one after the other as renderers do: each covers its share of what is there.

    Where two of them end at one line, the pixels on it show what lies beneath, too.
    """
    mixed = np.full((size, size, 3), 0.0 if alpha else 255.0)
    opacity = np.full((size, size), 0.0 if alpha else 1.0)
    for polygon, color in layers:
        share = coverage_of(polygon, size)
        mixed = mixed * (1.0 - share)[..., None] + share[..., None] * np.array(color)
        opacity = opacity * (1.0 - share) + share
    rgb = np.rint(mixed / np.maximum(opacity, 1e-9)[..., None]).astype(np.uint8)
    return Artwork(rgb, opacity.astype(np.float32), (size, size), 1.0, alpha, False)


def picture_of_labels(labels: np.ndarray) -> tuple[Artwork, Separation]:
    """Return a picture of pure pixels for a label map."""
    count = max(int(labels.max()), 1)
    palette = np.array([*COLORS, *((i * 40, 255 - i * 30, 128) for i in range(3))], dtype=np.uint8)[:count]
    rgb = np.vstack((np.array([WHITE], dtype=np.uint8), palette))[labels]
    height, width = labels.shape
    artwork = Artwork(rgb, np.ones(labels.shape, np.float32), (width, height), 1.0, False, False)
    return artwork, Separation(labels.astype(np.uint8), palette, WHITE, np.full(count, 1 / count))


def assert_coverage(areas: TracedAreas) -> None:
    """Every area is valid, none overlap, and neighbors share their vertices."""
    polygons = np.array(areas.polygons, dtype=object)
    assert shapely.is_valid(polygons).all(), shapely.is_valid_reason(polygons)
    assert shapely.coverage_is_valid(polygons)


def shared_area(first: shapely.Geometry, second: shapely.Geometry) -> float:
    """Return intersection over union."""
    return first.intersection(second).area / first.union(second).area

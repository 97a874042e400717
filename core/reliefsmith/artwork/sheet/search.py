"""The four corners of a sheet of paper in a photograph, where they are sure.

Many quadrilaterals are proposed in a small copy of the picture and weighed by what is seen along their sides;
the best few are measured in the picture at full size. A side that is none loses its straightness there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from PIL import Image
from skimage.filters import gaussian

from ...colorimetry import srgb_to_lab
from ...model.arrays import Flags, Floats, Rgb
from .bows import moved
from .refine import refined
from .shapes import areas_of, convex, ordered, without_twins
from .sheetoutlines import outlines
from .sides import Evidence, evidence, grain_of

__all__ = ["Candidate", "candidates", "find_sheet"]

_WORK_PX = 480
"""Longest side at which sheets are looked for; their corners are found at full size then."""
_FIRST, _LAST = 12, 4
"""How many quadrilaterals are moved onto their sides, and how many are measured at full size."""

_LEAST_EDGE = (0.55, 0.88)
"""Share of a side with an edge: where paper lies along it, and where the drawing does."""
_LEAST_FINE = 0.5
"""Share of places that lie on the parabola of the weakest side at full size, at least."""
_MOST_BEYOND, _MOST_TABLE = 0.1, 0.25
"""Shares of a side where the color within comes again beyond it, and where the table's lies within."""
_LEAST_RANK = 3.9
"""How well a sure sheet does in all (`_ranks`, and its weakest side twice). These shares were set on the
photographs 0 to 159 of `tests/benchmarks/sheets.py`."""
_MOST_DARKER = -3.0
"""L* that paper may be darker than the table: noise and shadows."""
_MOST_CHROMA = 35.0
"""C*ab of paper: a yellow note has 33, kraft paper 25. What has more is painted, such as a stripe."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A quadrilateral that may be a sheet.

    Parameters
    ----------
    corners : float array of shape (4, 2)
        Clockwise from the corner nearest to the upper left, in px of the picture.
    fine : float array of shape (4,)
        Share of places on each side's parabola at full size.
    inward_px : float
        How far the sides bend inward, at most.
    seen : Evidence
        Of it alone, in the small picture.
    rank : float
    """

    corners: Floats
    fine: Floats
    inward_px: float
    seen: Evidence
    rank: float


def find_sheet(rgb: Rgb) -> Candidate | None:
    """Return the sheet in a photograph, None where there is none, none that is sure, or more than one.

    Parameters
    ----------
    rgb : uint8 array of shape (h, w, 3)
    """
    found = candidates(rgb)
    if not found or not _is_sure(found[0]):
        return None
    rivals = [other for other in found[1:] if _is_sure(other) and not _overlap(found[0], other)]
    return None if rivals else found[0]


def candidates(rgb: Rgb) -> list[Candidate]:
    """Return the few likeliest quadrilaterals, the best first."""
    lab, scale = _small(rgb)
    size, grain = lab.shape[1::-1], grain_of(lab)
    quads = outlines(lab, grain)
    if len(quads):
        quads = _best(quads, evidence(lab, quads, grain), size, _FIRST)
    for _ in range(2):
        if not len(quads):
            return []
        quads = moved(quads, evidence(lab, quads, grain).bows)
        quads = without_twins(quads[convex(quads, size)])
    if not len(quads):
        return []
    quads = _best(quads, evidence(lab, quads, grain), size, _LAST)
    found = evidence(lab, quads, grain)
    ranks = _ranks(quads, found, size)
    result = []
    for at, quad in enumerate(quads):
        corners, fine, inward = refined(rgb, quad * scale, found.bows[at], scale)
        seen = found.only(at)
        result.append(
            Candidate(ordered(corners[None])[0], fine, inward, seen, float(ranks[at] + 2 * fine.min()))
        )
    return sorted(result, key=lambda one: -one.rank)


def _small(rgb: Rgb) -> tuple[Floats, float]:
    """Return a small copy in Lab, slightly smoothed, and its pixels' size in those of the picture."""
    image = Image.fromarray(rgb)
    image = image.reduce(max(max(image.size) // (2 * _WORK_PX), 1))
    scale = max(image.size) / _WORK_PX
    size = (round(image.size[0] / scale), round(image.size[1] / scale))
    part = np.asarray(image.resize(size, Image.Resampling.BILINEAR))
    lab = srgb_to_lab(part.reshape(-1, 3)).reshape(part.shape)
    return gaussian(lab, 1.0, channel_axis=-1), rgb.shape[1] / size[0]


def _best(quads: Floats, found: Evidence, size: tuple[int, ...], most: int) -> Floats:
    return quads[np.argsort(-_ranks(quads, found, size))[:most]]


def _ranks(quads: Floats, found: Evidence, size: tuple[int, ...]) -> Floats:
    """Return how well each quadrilateral does as a sheet."""
    paper = np.sort(found.paper, axis=-1)
    lacking = 2.0 * np.maximum(0.6 - paper[:, 1], 0)
    darker = _is_darker(found)
    large = np.minimum(areas_of(quads) / (0.4 * size[0] * size[1]), 1.0)
    ranks: Floats = (
        2.0 * found.support.min(axis=-1)
        + found.support.mean(axis=-1)
        + 0.25 * np.clip(found.lighter.mean(axis=-1) / 25.0, -1.0, 1.0)
        + 0.35 * large
        - lacking
        - 0.8 * found.beyond.mean(axis=-1)
        - 6.0 * np.maximum(found.table.max(axis=-1) - 0.1, 0)
        - darker
    )
    return ranks


def _overlap(one: Candidate, two: Candidate) -> bool:
    """Return whether two lie on each other; where they do not, both may be tiles."""
    return bool(shapely.Polygon(one.corners).intersects(shapely.Polygon(two.corners).centroid))


def _is_darker(found: Evidence) -> Flags:
    """Return which have a side with paper along it that is darker than what lies beyond."""
    darker: Flags = np.where(found.paper > 0.5, found.lighter, 0.0).min(axis=-1) < _MOST_DARKER
    return darker


def _is_sure(one: Candidate) -> bool:
    """Return whether a quadrilateral is beyond doubt a sheet.

    A side along which the drawing reaches the paper's edge needs an edge nearly all along.
    """
    seen = one.seen
    edges = (seen.support >= _LEAST_EDGE[0] + (_LEAST_EDGE[1] - _LEAST_EDGE[0]) * (1.0 - seen.paper)).all()
    straight = one.fine.min() >= _LEAST_FINE
    other = seen.beyond.max() <= _MOST_BEYOND and seen.table.max() <= _MOST_TABLE
    other = other and float(seen.chroma) <= _MOST_CHROMA
    return bool(edges and straight and other and not _is_darker(seen) and one.rank >= _LEAST_RANK)

"""The four corners of a sheet of paper in a photograph, where they are sure.

Many quadrilaterals are proposed in a small copy of the picture, weighed by what is seen along their sides, and the
best few measured in the picture at full size. A side that is none loses its straightness there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image
from skimage.filters import gaussian

from ...chroma import srgb_to_lab
from ...model.arrays import Rgb
from .outlines import outlines
from .refine import refined
from .shapes import Floats, areas_of, convex, ordered, without_twins
from .sides import Evidence, evidence, moved

__all__ = ["Candidate", "candidates", "find_corners"]

_WORK_PX = 480
_FIRST, _LAST = 12, 4
"""How many quadrilaterals are moved onto their sides, and how many are measured at full size."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A quadrilateral that may be a sheet.

    Parameters
    ----------
    corners : float array of shape (4, 2)
        Clockwise from the corner nearest to the upper left, in px of the picture.
    fine : float array of shape (4,)
        Share of places on each side's parabola at full size.
    seen : Evidence
        Of it alone, in the small picture.
    rank : float
    """

    corners: Floats
    fine: Floats
    seen: Evidence
    rank: float


def find_corners(rgb: Rgb) -> Floats | None:
    """Return the corners (4, 2) of the sheet in a photograph, clockwise from the upper left; None where unsure.

    Parameters
    ----------
    rgb : uint8 array of shape (h, w, 3)
    """
    found = [one for one in candidates(rgb) if _is_sure(one)]
    return found[0].corners if found else None


def candidates(rgb: Rgb) -> list[Candidate]:
    """Return the few likeliest quadrilaterals, the best first."""
    lab, scale = _small(rgb)
    size = lab.shape[1::-1]
    quads = outlines(lab)
    quads = _best(quads, evidence(lab, quads), size, _FIRST)
    for _ in range(2):
        quads = moved(quads, evidence(lab, quads).bows)
        quads = without_twins(quads[convex(quads, size)])
    quads = _best(quads, evidence(lab, quads), size, _LAST)
    found = evidence(lab, quads)
    ranks = _ranks(quads, found, size)
    result = []
    for at, quad in enumerate(quads):
        corners, fine = refined(rgb, quad * scale, found.bows[at], scale)
        seen = found.only(at)
        result.append(Candidate(ordered(corners[None])[0], fine, seen, float(ranks[at] + 2 * fine.min())))
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
    darker = np.where(found.paper > 0.5, found.lighter, 0.0).min(axis=-1) < -1.0
    large = np.minimum(areas_of(quads) / (0.4 * size[0] * size[1]), 1.0)
    ranks: Floats = (
        2.0 * found.support.min(axis=-1)
        + found.support.mean(axis=-1)
        + 0.25 * np.clip(found.lighter.mean(axis=-1) / 25.0, -1.0, 1.0)
        + 0.35 * large
        - lacking
        - 0.8 * found.beyond.mean(axis=-1)
        - 2.0 * found.table.max(axis=-1)
        - darker
    )
    return ranks


def _is_sure(one: Candidate) -> bool:
    return bool(one.fine.min() > 0.6)

"""Quadrilaterals as arrays (n, 4, 2) of corners in px, clockwise as seen."""

from __future__ import annotations

import numpy as np

from ...model.arrays import Flags, Floats

__all__ = ["areas_of", "convex", "ordered", "without_twins"]


_LEAST_SHARE = 0.05
"""Of the picture, that a sheet covers."""
_OUTSIDE_PX = 4.0
"""How far a corner may lie outside of the picture: a sheet may just touch its side."""
_LEAST_TURN = 0.3
"""Sine between two neighboring sides."""
_TWINS_PX = 2.5
"""Corners this near are those of one sheet, in px of the small picture."""


def areas_of(quads: Floats) -> Floats:
    """Return the area of each, negative where it goes round counterclockwise.

    Examples
    --------
    >>> areas_of(np.array([[[0.0, 0.0], [2.0, 0.0], [2.0, 3.0], [0.0, 3.0]]])).tolist()
    [6.0]
    """
    x, y = quads[..., 0], quads[..., 1]
    areas: Floats = (x * np.roll(y, -1, -1) - y * np.roll(x, -1, -1)).sum(-1) / 2
    return areas


def convex(quads: Floats, size: tuple[int, ...]) -> Flags:
    """Return which are convex, clockwise, as large as a sheet, and within a picture of (width, height)."""
    steps = np.roll(quads, -1, axis=1) - quads
    after = np.roll(steps, -1, axis=1)
    turns = steps[..., 0] * after[..., 1] - steps[..., 1] * after[..., 0]
    lengths = np.linalg.norm(steps, axis=-1) * np.linalg.norm(after, axis=-1)
    inside = ((quads > -_OUTSIDE_PX) & (quads < np.array(size) + _OUTSIDE_PX)).all(axis=(1, 2))
    large = areas_of(quads) >= _LEAST_SHARE * size[0] * size[1]
    good: Flags = inside & large & (turns >= _LEAST_TURN * np.maximum(lengths, 1e-9)).all(axis=1)
    return good


def ordered(quads: Floats) -> Floats:
    """Return them clockwise, the corner nearest to the upper left first."""
    back = areas_of(quads) < 0
    quads = np.where(back[:, None, None], quads[:, ::-1], quads)
    first = np.argmin(quads.sum(axis=-1), axis=1)
    return np.take_along_axis(quads, ((first[:, None] + np.arange(4)) % 4)[..., None], axis=1)


def without_twins(quads: Floats) -> Floats:
    """Return them without those whose corners all lie near those of an earlier one."""
    kept: list[int] = []
    for at, quad in enumerate(quads):
        if not kept or (np.abs(quads[kept] - quad).max(axis=(1, 2)) > _TWINS_PX).all():
            kept.append(at)
    return quads[kept]

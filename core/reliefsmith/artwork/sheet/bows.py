"""Sides as parabolas: an offset outward from the line between two corners, by place from -1 to 1 along it."""

from __future__ import annotations

import numpy as np

from ...model.arrays import Flags, Floats

__all__ = ["crossed", "fitted", "moved", "outward", "powers_of"]

_ROUNDS = (8.0, 5.0, 3.0, 2.0, 1.6)
"""Pixels from the parabola beyond which an offset is left out, round by round."""
_STIFF = np.diag([0.5, 0.05, 0.01])
"""What holds back bends that few offsets ask for."""


def powers_of(place: Floats) -> Floats:
    """Return what a parabola's three numbers are multiplied by at places, highest power first."""
    return np.stack([place**2, place, np.ones_like(place)], axis=-1)


def fitted(place: Floats, offset: Floats, known: Flags) -> Floats:
    """Fit parabolas (n, 4, 3) to offsets (n, 4, places), what lies far off left out more and more."""
    powers = powers_of(place)
    middle = np.median(np.where(known, offset, 0.0), axis=-1, keepdims=True)
    off = np.abs(offset - middle)
    bows = np.zeros((*offset.shape[:-1], 3))
    for reach in _ROUNDS:
        weight = (known & (off <= reach)).astype(float)
        normal = np.einsum("...p,pi,pj->...ij", weight, powers, powers) + _STIFF
        right = np.einsum("...p,...p,pi->...i", weight, offset, powers)
        bows = np.linalg.solve(normal, right[..., None])[..., 0]
        off = np.abs(offset - bows @ powers.T)
    return bows


def moved(quads: Floats, bows: Floats) -> Floats:
    """Return quadrilaterals moved onto the parabolas of their sides."""
    return np.array([crossed(*pair) for pair in zip(quads, bows, strict=True)]).reshape(-1, 4, 2)


def outward(quad: Floats) -> Floats:
    """Return the unit normals (..., 4, 2) of sides, from corner i to corner i + 1."""
    steps = np.roll(quad, -1, axis=-2) - quad
    normal = np.stack([steps[..., 1], -steps[..., 0]], axis=-1)
    unit: Floats = normal / np.linalg.norm(steps, axis=-1, keepdims=True)
    return unit


def crossed(quad: Floats, bows: Floats) -> Floats:
    """Return where neighboring parabolas of a quadrilateral's sides meet, by Newton's steps.

    A side's place runs from -1 at one corner to 1 at the next; its parabola gives the offset outward there.
    """
    ends = np.roll(quad, -1, axis=0)
    half, middle, normal = (ends - quad) / 2, (ends + quad) / 2, outward(quad)
    corners = []
    for at in range(4):
        before = at - 1
        s, t = 1.0, -1.0
        for _ in range(8):
            one = middle[before] + s * half[before] + np.polyval(bows[before], s) * normal[before]
            two = middle[at] + t * half[at] + np.polyval(bows[at], t) * normal[at]
            slope = np.stack(
                [
                    half[before] + np.polyval(np.polyder(bows[before]), s) * normal[before],
                    -(half[at] + np.polyval(np.polyder(bows[at]), t) * normal[at]),
                ],
                axis=-1,
            )
            if abs(np.linalg.det(slope)) < 1e-6:
                break
            step = np.linalg.solve(slope, two - one)
            s, t = float(np.clip(s + step[0], -3, 3)), float(np.clip(t + step[1], -3, 3))
        corners.append(middle[at] + t * half[at] + np.polyval(bows[at], t) * normal[at])
    return np.array(corners)

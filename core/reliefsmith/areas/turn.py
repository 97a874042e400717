"""How far a photographed picture is turned: the direction that its long straight boundaries share."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..findings import Finding, Note, finding, note
from ..model import Artwork
from .shape import ArcLines

__all__ = ["Turn", "estimate_turn", "judged_turn"]

LEAST_LENGTH = 12.0
"""Pixels from which a straight piece of boundary has a direction worth counting."""

MOST_TURN_DEG = 6.0
"""A hand-held photograph is turned less; beyond, slanted lines are the artist's."""

KERNEL_DEG, BAND_DEG, STEP_DEG = 0.25, 0.6, 0.05
"""Width of the kernel, half-width of the band that counts as one direction, step of the search."""

SURE, SUSPICIOUS = 0.05, 0.025
"""Share of all boundary length in the band: turn above the first, say so above the second. In trials all
right estimates had 0.088 and more, all wrong ones 0.019 and less; round art has 0.013 by chance."""

SURE_WITHOUT_LIGHT = 0.15
"""The same for saying so where nothing else shows that the picture is a photograph."""

STRAIGHT_DEG = 0.1
"""Turned by less is straight: over 68 mm that is a tenth of a millimetre."""


@dataclass(frozen=True, slots=True)
class Turn:
    """The likely turn, clockwise as seen, and the shares of boundary length along it and along the frame."""

    degrees: float
    share: float
    upright_share: float


def estimate_turn(lines: ArcLines) -> Turn:
    """Find the direction, modulo 90 degrees and within 6 of upright, that most boundary length shares."""
    step = np.diff(lines.points, axis=0)
    inner = np.ones(len(step), dtype=bool)
    inner[lines.starts[1:-1] - 1] = False
    step = step[inner]
    length = np.hypot(step[:, 0], step[:, 1])
    total = float(length.sum())
    angle = (np.degrees(np.arctan2(step[:, 1], step[:, 0])) + 45.0) % 90.0 - 45.0
    long = (length > LEAST_LENGTH) & (np.abs(angle) < MOST_TURN_DEG + BAND_DEG)
    angle, length = angle[long], length[long]
    if not angle.size:
        return Turn(0.0, 0.0, 0.0)
    grid = np.arange(-MOST_TURN_DEG, MOST_TURN_DEG + STEP_DEG / 2, STEP_DEG)
    density = (length * np.exp(-0.5 * ((grid[:, None] - angle) / KERNEL_DEG) ** 2)).sum(axis=1)
    peak = grid[int(np.argmax(density))]
    band = np.abs(angle - peak) < BAND_DEG
    degrees = float((angle * length)[band].sum() / length[band].sum())
    upright = float(length[np.abs(angle) < BAND_DEG].sum())
    return Turn(degrees, float(length[band].sum()) / total, upright / total)


def judged_turn(lines: ArcLines, artwork: Artwork) -> tuple[float, tuple[Finding, ...], tuple[Note, ...]]:
    """Decide whether to turn; only photographs are turned, and only where the estimate is sure.

    A picture counts as a photograph where uneven light was divided out of it. Drawings keep the slant that
    their artist gave them.
    """
    photograph = any(item.code == "light-divided" for item in artwork.notes)
    if artwork.has_alpha or not (photograph or artwork.lossy):
        return 0.0, (), ()
    turn = estimate_turn(lines)
    if abs(turn.degrees) < STRAIGHT_DEG:
        return 0.0, (), ()
    if photograph and turn.share >= SURE:
        message = f"the picture was turned straight by {abs(turn.degrees):.1f} degrees"
        return turn.degrees, (), (note("turned", message),)
    least = SUSPICIOUS if photograph else SURE_WITHOUT_LIGHT
    if turn.share >= least and turn.upright_share < turn.share / 3:
        message = (
            f"the picture may be turned by {abs(turn.degrees):.1f} degrees; straighten it if it should be"
        )
        return 0.0, (finding("not-straightened", message),), ()
    return 0.0, (), ()

"""What goes with a piece and is printed by itself: a foot, a handle, the walls of a housing and its lid."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..findings import Finding
from .parts import Part
from .stack import Stack

__all__ = ["Accessory"]


@dataclass(frozen=True, slots=True)
class Accessory:
    """One solid of one color that is printed apart from the piece.

    Parameters
    ----------
    name : str
        In its files too.
    copies : int
    stack : Stack
        As it is printed.
    parts : tuple of Part
    fitting : tuple of str
        How it goes together with the piece, a sentence each.
    findings : tuple of Finding
    """

    name: str
    copies: int
    stack: Stack
    parts: tuple[Part, ...]
    fitting: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def bounds(self) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
        """The least and the greatest x, y and z of one copy, as printed."""
        points = np.concatenate([part.vertices for part in self.parts])
        low, high = points.min(axis=0).tolist(), points.max(axis=0).tolist()
        return (low[0], low[1], low[2]), (high[0], high[1], high[2])

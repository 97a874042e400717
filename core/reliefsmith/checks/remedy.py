"""Which color of the base would show what is lost: tried on the cells, by the measure that found the loss."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..colorimetry import ciede2000, srgb_to_lab, to_hex
from ..colorimetry.lost import Lost
from ..colorimetry.reference import TOLD_APART, Reference
from ..colorimetry.seen import Seen, seen
from ..model.arrays import Color, Labels

__all__ = ["Remedy", "base_remedy"]

_MOST_TRIED = 3
"""Colors that are tried: those of the largest lost places; each takes a few hundredths of a second."""

_LEAST_GAIN = 0.5
"""A setting helps if it mends at least this share of what is lost."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """A setting that was tried and helps, in words, and what is still lost with it."""

    words: str
    left: Seen

    def mends(self, place: Lost) -> bool:
        """Tell whether less than half of a place is still lost."""
        near = [
            item.cells
            for item in self.left.lost
            if item.kind == place.kind
            and np.hypot(item.at_mm[0] - place.at_mm[0], item.at_mm[1] - place.at_mm[1])
            <= (place.size_mm + item.size_mm) / 2
        ]
        return sum(near) <= (1 - _LEAST_GAIN) * place.cells


def base_remedy(
    wanted: Reference, found: Seen, shown: tuple[Labels, Sequence[Color]], own: Labels
) -> Remedy | None:
    """Return the color of the base that mends most of what is lost, or None if none mends half.

    Parameters
    ----------
    wanted : Reference
    found : Seen
        Of the piece as it is.
    shown : (uint8 array of shape (h, w), colors)
        What each cell of the piece shows, 0 open air, 1 the base.
    own : uint8 array of shape (h, w)
        1 where the art has the base's color, so that it stays a motif on another base.
    """
    labels, colors = shown
    is_base = labels == 1
    piece = np.where(is_base, np.where(own, len(colors) + 1, 1), labels)
    loss = _loss(found)
    best: Remedy | None = None
    for color in _offered(found, colors[0]):
        palette = np.array([color, *colors[1:], colors[0]], dtype=np.uint8)
        tried = seen(wanted, piece, palette, most_lost=len(found.lost))
        if _loss(tried) <= (1 - _LEAST_GAIN) * loss and (best is None or _loss(tried) < _loss(best.left)):
            edges, paint = (f"{share * 100:.0f} %" for share in (tried.edges_kept, tried.paint_right))
            words = f'colors.base = "{to_hex(color)}" shows {edges} of the edges and {paint} of the area'
            best = Remedy(words, tried)
    return best


def _loss(found: Seen) -> float:
    return 2 - found.edges_kept - found.paint_right


def _offered(found: Seen, base: Color) -> list[Color]:
    """Return the colors of the largest lost places that are told apart from the base's and each other."""
    offered: list[Color] = []
    for color in (color for item in found.lost for color in item.colors if color is not None):
        others = srgb_to_lab(np.array([base, *offered], dtype=np.uint8))
        if (ciede2000(srgb_to_lab(np.array(color, dtype=np.uint8)), others) >= TOLD_APART).all():
            offered.append(color)
    return offered[:_MOST_TRIED]

"""What every style of relief comes to: slabs, color changes, layers; and the words of what was snapped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..colorimetry.spaces import relative_luminance
from ..colorimetry.words import unique_names
from ..findings import Finding, Note, note
from ..model import ColorChange, Motif, Plan, Slab
from ..model.arrays import Color
from .layergrid import SAME_MM, LayerGrid

__all__ = ["Levels", "bare_base", "changes_at", "luminance", "motif_slabs", "snapped_note"]


@dataclass(frozen=True, slots=True)
class Levels:
    """Slabs on whole layers, as printed but not yet mirrored.

    Parameters
    ----------
    slabs : tuple of Slab
        Base first, then motifs in filament order.
    layers : int
        Layers of the whole.
    changes : tuple of ColorChange
        The first layer of each color after the first.
    by_height : bool
        Whether every layer holds one color only.
    notes : tuple of Note
    findings : tuple of Finding
    jobs : tuple of tuple of str
        Parts of each print, where there are several.
    back : tuple of Slab
        A back plate as printed, apart from the slabs, which are then the front plate.
    front_mm, joint_mm : float
        Height of the front plate where there is a back plate, and at which height the plates meet.
    """

    slabs: tuple[Slab, ...]
    layers: int
    changes: tuple[ColorChange, ...]
    by_height: bool
    notes: tuple[Note, ...] = ()
    findings: tuple[Finding, ...] = ()
    jobs: tuple[tuple[str, ...], ...] = ()
    back: tuple[Slab, ...] = ()
    front_mm: float = 0.0
    joint_mm: float = 0.0


def luminance(color: Color) -> float:
    """Return the relative luminance 0 to 1 of an sRGB color."""
    return float(relative_luminance(np.array(color, dtype=np.uint8)))


def motif_slabs(motifs: Sequence[Motif], bottom_mm: float, top_mm: float | Sequence[float]) -> list[Slab]:
    """Return one slab for each motif between two heights, or up to a height each, named by its color."""
    names = unique_names([motif.color for motif in motifs])
    tops = [top_mm] * len(motifs) if isinstance(top_mm, float) else top_mm
    return [
        Slab(name, "motif", motif.color, motif.polygon, bottom_mm, top)
        for name, motif, top in zip(names, motifs, tops, strict=True)
    ]


def changes_at(motifs: Sequence[Motif], layers_below: int, grid: LayerGrid) -> tuple[ColorChange, ...]:
    """Return the changes to colors that all begin above the same layer."""
    z_mm = grid.top_mm(layers_below)
    return tuple(ColorChange(layers_below + 1, z_mm, motif.color) for motif in motifs)


def bare_base(plan: Plan, grid: LayerGrid, asked_mm: float, layers: int) -> Levels:
    """Return the base of a piece without motifs, so many layers high."""
    top = grid.top_mm(layers)
    slab = Slab("base", "base", plan.base_color, plan.base, 0.0, top)
    return Levels((slab,), layers, (), True, snapped_note([("base", asked_mm, top)]))


def snapped_note(heights: Sequence[tuple[str, float, float]]) -> tuple[Note, ...]:
    """Return a note of heights that were moved to whole layers; none if all were there.

    Parameters
    ----------
    heights : sequence of (str, float, float)
        What it is, what was asked in mm, what it became.
    """
    if all(abs(asked - became) < SAME_MM for _, asked, became in heights):
        return ()
    words = ", ".join(f"{name} {asked:g} to {became:g} mm" for name, asked, became in heights)
    return (note("heights-snapped", f"Heights moved to whole layers: {words}."),)

"""A stack cut off at a height, to look inside the piece."""

from __future__ import annotations

from dataclasses import replace

from ..errors import GeometryError
from ..model import Stack

__all__ = ["cut_below"]


def cut_below(stack: Stack, height_mm: float) -> Stack:
    """Return what of a stack lies below a height: whole slabs, slabs cut flat, nothing above.

    Raises
    ------
    GeometryError
        If nothing lies below it.
    """
    kept = []
    for slab in stack.slabs:
        if slab.bottom_mm < height_mm:
            top = slab.top if isinstance(slab.top, float) and slab.top < height_mm else height_mm
            kept.append(replace(slab, top=top))
    if not kept:
        raise GeometryError(f"nothing of the piece lies below {height_mm:g} mm; cut it higher")
    return replace(stack, slabs=tuple(kept))

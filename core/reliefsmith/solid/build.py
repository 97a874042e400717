"""Slabs to closed solid parts."""

from __future__ import annotations

from ..errors import GeometryError
from ..mesh import moved_apart, prism
from ..model import Part, Slab, Stack
from ..progress import Progress, Steps, drained

__all__ = ["build", "build_steps"]


def build_steps(stack: Stack) -> Steps[tuple[Part, ...]]:
    """Build one closed solid from each slab.

    Volume is area times height of the slab's polygon, less the micrometers by which touching corners of one
    part are moved apart (`moved_apart`). Neighboring parts share faces and never overlap.

    Raises
    ------
    GeometryError
        If a slab is no prism, or cannot be triangulated.
    """
    parts: list[Part] = []
    for number, slab in enumerate(stack.slabs):
        yield Progress(f"building {slab.part}", number / len(stack.slabs))
        parts.append(_part(slab))
    return tuple(parts)


build = drained(build_steps)


def _part(slab: Slab) -> Part:
    if not isinstance(slab.top, float):
        raise GeometryError(f"part {slab.part} has no flat top; only flat tops are built")
    vertices, triangles = prism(moved_apart(slab.polygon), slab.bottom_mm, slab.top)
    return Part(slab.part, slab.role, slab.color, vertices, triangles)

"""Slabs to closed solid parts."""

from __future__ import annotations

from ..errors import GeometryError
from ..mesh import Section, extruded
from ..model import Part, Slab, Stack
from ..progress import Progress, Steps, drained

__all__ = ["build", "build_steps"]


def build_steps(stack: Stack) -> Steps[tuple[Part, ...]]:
    """Build one closed solid for each part of the stack, in the order of its slabs.

    The volume is the sum of area times height of the part's slabs. Neighboring parts share faces and never
    overlap. A part's slabs stand on each other without a gap.

    Raises
    ------
    GeometryError
        If a top is not flat, or a polygon is empty, off the grid or cannot be triangulated.
    """
    parts: list[Part] = []
    names = list(dict.fromkeys(slab.part for slab in stack.slabs))
    for number, name in enumerate(names):
        yield Progress(f"building {name}", number / len(names))
        parts.append(_part([slab for slab in stack.slabs if slab.part == name]))
    return tuple(parts)


build = drained(build_steps)


def _part(slabs: list[Slab]) -> Part:
    sections = []
    for slab in sorted(slabs, key=lambda item: item.bottom_mm):
        if not isinstance(slab.top, float):
            raise GeometryError(f"part {slab.part} has no flat top; only flat tops are built")
        sections.append(Section(slab.polygon, slab.bottom_mm, slab.top))
    mesh = extruded(sections)
    return Part(slabs[0].part, slabs[0].role, slabs[0].color, mesh.vertices, mesh.triangles)

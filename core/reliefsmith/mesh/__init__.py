"""The 3D kernel: rings to closed solids, triangulation, validity, measures."""

from __future__ import annotations

from .follow import follow, ground_of, levels_of
from .gridrings import Rings, rings_of
from .insets import ends_within, insets, refined, room_for
from .measure import box, signed_volume
from .mending import Mending, mended
from .modeled import Surface, modeled_top, with_tops
from .prism import Section, extruded, levels_of_sections, prism, section_difference, upright
from .section import crossing, cut, cut_twice
from .sloped import Top, contour_top, draped_top, sloped
from .surface import Cast, Mesh
from .topheights import plain_heights
from .touching import CUT_MM, moved_apart, touching_points
from .triangulate import triangulate
from .validity import MeshFaults, mesh_faults, mesh_pieces

__all__ = [
    "CUT_MM",
    "Cast",
    "Mending",
    "Mesh",
    "MeshFaults",
    "Rings",
    "Section",
    "Surface",
    "Top",
    "box",
    "contour_top",
    "crossing",
    "cut",
    "cut_twice",
    "draped_top",
    "ends_within",
    "extruded",
    "follow",
    "ground_of",
    "insets",
    "levels_of",
    "levels_of_sections",
    "mended",
    "mesh_faults",
    "mesh_pieces",
    "modeled_top",
    "moved_apart",
    "plain_heights",
    "prism",
    "refined",
    "rings_of",
    "room_for",
    "section_difference",
    "signed_volume",
    "sloped",
    "touching_points",
    "triangulate",
    "upright",
    "with_tops",
]

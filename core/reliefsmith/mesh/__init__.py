"""The mesh kernel: rings to closed solids, triangulation, validity, measures."""

from __future__ import annotations

from .apart import moved_apart
from .measure import box, signed_volume
from .prism import prism
from .triangulate import triangulated
from .validity import MeshFaults, mesh_faults

__all__ = ["MeshFaults", "box", "mesh_faults", "moved_apart", "prism", "signed_volume", "triangulated"]

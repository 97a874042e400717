"""Solid parts and what inspection says of them."""

from __future__ import annotations

from dataclasses import dataclass

from ..findings import Finding
from .arrays import Color, Triangles, Vertices

__all__ = ["ColorChange", "Estimate", "Inspection", "Part"]


@dataclass(frozen=True, slots=True)
class Part:
    """A closed solid in one color.

    Parameters
    ----------
    name : str
        "base", or a color word, "red-2" for the second red: also STL suffix and object name.
    role : str
        "base" or "motif".
    color : (int, int, int)
        sRGB.
    vertices : float64 array of shape (n, 3)
        In mm, no two equal.
    triangles : int32 array of shape (m, 3)
        Counter-clockwise seen from outside; every edge is used once each way.

    Notes
    -----
    Both arrays are read-only, since a job keeps its parts for the next run; copy them to change them.
    """

    name: str
    role: str
    color: Color
    vertices: Vertices
    triangles: Triangles

    def __post_init__(self) -> None:
        for name in ("vertices", "triangles"):
            kept = getattr(self, name).view()  # the array that was given stays as its owner has it
            kept.flags.writeable = False
            object.__setattr__(self, name, kept)


@dataclass(frozen=True, slots=True)
class ColorChange:
    """Before 1-based layer `layer`, whose underside is at `z_mm`, change to `color`."""

    layer: int
    z_mm: float
    color: Color


@dataclass(frozen=True, slots=True)
class Estimate:
    """What the print takes.

    Parameters
    ----------
    volume_mm3, mass_g, filament_mm : dict of part name -> float
    purge_mm3 : float
        Purged at color changes.
    time_min : float
        Printing without warm-up, from the machine model in the recipe.
    attended_min : float
        Minutes of hand work at color changes.
    changes : int
        Color changes, counted per layer.
    mass_g_total, cost : float
        Purge included; cost in the currency of the recipe.
    """

    volume_mm3: dict[str, float]
    mass_g: dict[str, float]
    filament_mm: dict[str, float]
    purge_mm3: float
    time_min: float
    attended_min: float
    changes: int
    mass_g_total: float
    cost: float


@dataclass(frozen=True, slots=True)
class Inspection:
    """Findings on the parts and the estimate."""

    findings: tuple[Finding, ...]
    estimate: Estimate

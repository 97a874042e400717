"""Write a bed of pieces as one 3MF: an object for each different piece, a build item for each piece.

Rules from the 3MF Core Specification 1.4.0; see `threemf`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..model.parts import Part
from .decimals import Floats, exact_mm, mm_text
from .markup import xml_text
from .threemf import FIRST_OBJECT_ID, materials, mesh_object, model_text, packaged, require_solids

__all__ = ["BedPiece", "Spot", "bed_threemf_bytes"]

_QUARTER_DEG = 90.0


@dataclass(frozen=True, slots=True)
class Spot:
    """One piece as it lies: its number, and its turn about the origin, counter-clockwise, before its move."""

    name: str
    turn_deg: float
    at_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class BedPiece:
    """A piece and all places at which it lies.

    Parameters
    ----------
    name : str
        Of the object; its parts are called by it and their own names.
    parts : sequence of Part
        In filament order.
    spots : sequence of Spot
    """

    name: str
    parts: Sequence[Part]
    spots: Sequence[Spot]


def bed_threemf_bytes(pieces: Sequence[BedPiece], *, title: str) -> bytes:
    """Write pieces that lie apart as one 3MF package, each one to build, with its number as part number.

    Colors are those of all pieces; the bed begins at the origin. The bytes depend on what is given only.

    Raises
    ------
    GeometryError
        If there is no part, or one without volume.
    """
    parts = [part for piece in pieces for part in piece.parts]
    require_solids(parts)
    colors = list(dict.fromkeys(part.color for part in parts))
    resources, items, key = [materials(colors)], [], FIRST_OBJECT_ID
    for piece in pieces:
        first, points = key, [exact_mm(part.vertices) for part in piece.parts]
        for part, array in zip(piece.parts, points, strict=True):
            named = replace(part, name=f"{piece.name}-{part.name}")
            resources += mesh_object(named, array, key, colors.index(part.color))
            key += 1
        components = "".join(f'<component objectid="{one}"/>' for one in range(first, key))
        resources.append(
            f'<object id="{key}" type="model" name="{xml_text(piece.name)}">'
            f"<components>{components}</components></object>\n"
        )
        items += [_item(key, spot, points) for spot in piece.spots]
        key += 1
    return packaged(model_text(title, "".join(resources), "\n".join(items)))


def _item(key: int, spot: Spot, points: Sequence[Floats]) -> str:
    """Write a build item, turned about z, moved onto the bed."""
    cosine, sine = _cosine(spot.turn_deg), _cosine(spot.turn_deg - _QUARTER_DEG)
    rows = f"{cosine!r} {sine!r} 0 {-sine + 0.0!r} {cosine!r} 0 0 0 1"
    low = min(float(array[:, 2].min()) for array in points)
    at = " ".join(mm_text(value) for value in (*spot.at_mm, -low))
    return f'<item objectid="{key}" transform="{rows} {at}" partnumber="{xml_text(spot.name)}"/>'


def _cosine(angle_deg: float) -> float:
    """Return the cosine of an angle, exact at right angles."""
    quarters, rest = divmod(angle_deg % 360.0, _QUARTER_DEG)
    return (1.0, 0.0, -1.0, 0.0)[int(quarters)] if rest == 0 else math.cos(math.radians(angle_deg))

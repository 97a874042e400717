"""The flat-color areas alone: which writer a file name asks for, and what a script wants to know of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from ..errors import OutputError
from ..model import FlatAreas

__all__ = ["area_writer", "areas_report"]


def area_writer(path: Path, curves: str = "lines") -> Callable[[FlatAreas], bytes]:
    """Return the writer of flat-color areas for a file name.

    With `curves` "bezier" it is one that draws curves where the format has them.

    Raises
    ------
    OutputError
        If the name ends in something that is not written.
    """
    from .. import formats

    writer = formats.AREA_WRITERS.get(path.suffix.lower())
    if writer is None:
        known = " or ".join(sorted(formats.AREA_WRITERS))
        raise OutputError(f"areas are written as {known}; {path.name} ends in neither")
    return formats.CURVE_WRITERS.get(path.suffix.lower(), writer) if curves == "bezier" else writer


def areas_report(areas: FlatAreas) -> dict[str, Any]:
    """Return what a script wants to know of areas: colors, names, size, frame."""
    from .. import formats
    from ..colorimetry.words import to_hex, unique_names
    from ..documents.report import finding_mapping, note_mapping
    from ..model.areas import GROUND_ROLE

    colors = [(int(r), int(g), int(b)) for r, g, b in areas.colors]
    names = unique_names(colors)
    rows: list[dict[str, Any]] = [
        {"name": name, "color": to_hex(color), "area_mm2": round(polygon.area, 6)}
        for name, color, polygon in zip(names, colors, areas.polygons, strict=True)
    ]
    if areas.enclosed is not None:
        rows[areas.enclosed]["role"] = GROUND_ROLE
    return {
        "schema": 1,
        "artwork_mm": list(areas.size_mm),
        "areas": rows,
        "numbered": formats.numbered_members(areas),
        "frame": formats.frame_members(areas.frame),
        "findings": [finding_mapping(item) for item in areas.findings],
        "notes": [note_mapping(item) for item in areas.notes],
    }

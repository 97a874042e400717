"""Files of a piece that is cut: each filling of the bed as one 3MF, the parts where they are printed."""

from __future__ import annotations

from ..formats.threemf_bed import BedPiece, Spot, bed_threemf_bytes
from ..model import Result
from ..solid.segmented import parts_by_segment

__all__ = ["plate_files"]


def plate_files(result: Result) -> dict[str, bytes]:
    """Return the 3MF of each filling of the bed by its name; none for a piece that is not cut.

    Each part is one object of components, one for each color, named by its number.
    """
    division = result.plan.division
    if division is None:
        return {}
    mirrored = result.recipe.heights.face == "down"
    solids = parts_by_segment(result.parts, division, mirrored=mirrored)
    files = {}
    for plate, name in enumerate(division.files(result.stem), start=1):
        lying = [one for one in division.segments if one.plate == plate]
        pieces = [
            BedPiece(
                f"part-{one.number}",
                solids[one.number - 1],
                [Spot(str(one.number), one.turn_deg, one.at_mm)],
            )
            for one in lying
        ]
        title = f"{result.recipe.order.title or result.stem}, plate {plate} of {division.plates}"
        files[name] = bed_threemf_bytes(pieces, title=title)
    return files

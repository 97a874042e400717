"""Files of what is printed apart: plates of a piece that is cut, and what goes with a piece."""

from __future__ import annotations

from ..formats import stl_bytes
from ..formats.threemf_bed import BedPiece, Spot, bed_threemf_bytes
from ..model import Result
from ..solid.segmented import parts_by_segment

__all__ = ["apart_files"]


def apart_files(result: Result) -> dict[str, bytes]:
    """Return the files of what is printed apart, by their names; none for a piece that is all.

    Examples
    --------
    >>> import numpy as np
    >>> from reliefsmith import make
    >>> picture = np.full((60, 90, 3), 255, dtype=np.uint8)
    >>> picture[10:50, 20:70] = 200, 40, 45  # a red field on paper
    >>> relief = make(picture, {"stand": {"kind": "slot"}, "base": {"shape": "rectangle"}})
    >>> sorted(name.partition("-")[2] for name in apart_files(relief.result))
    ['foot.3mf', 'foot.stl']
    """
    return {**_plates(result), **_accessories(result)}


def _plates(result: Result) -> dict[str, bytes]:
    """Return a 3MF of each filling of the bed, its parts where they are printed; none of a whole piece."""
    division = result.plan.division
    if division is None:
        return {}
    solids = parts_by_segment(result.parts, division, mirrored=result.recipe.heights.face == "down")
    files = {}
    for plate, name in enumerate(division.files(result.stem), start=1):
        pieces = [
            BedPiece(f"part-{one.number}", own, [Spot(str(one.number), one.turn_deg, one.at_mm)])
            for one, own in zip(division.segments, solids, strict=True)
            if one.plate == plate
        ]
        title = f"{result.recipe.order.title or result.stem}, plate {plate} of {division.plates}"
        files[name] = bed_threemf_bytes(pieces, title=title)
    return files


def _accessories(result: Result) -> dict[str, bytes]:
    """Return a 3MF and an STL of each thing that goes with the piece; copies lie side by side in the 3MF."""
    files = {}
    for item in result.accessories:
        low, high = item.bounds
        step = high[0] - low[0] + result.recipe.beds.spacing_mm
        spots = [
            Spot(f"{item.name}-{number + 1}", 0.0, (number * step - low[0], -low[1]))
            for number in range(item.copies)
        ]
        name = f"{result.stem}-{item.name}"
        files[f"{name}.3mf"] = bed_threemf_bytes([BedPiece(item.name, item.parts, spots)], title=name)
        files |= {f"{result.stem}-{part.name}.stl": stl_bytes(part) for part in item.parts}
    return files

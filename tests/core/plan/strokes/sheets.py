"""Sheets and zones for the tests of what marks keep and widen."""

from __future__ import annotations

import shapely

from reliefsmith.plan.strokes.partition import GROUND, Sheet, sheet_of
from reliefsmith.plan.zones import Zone
from reliefsmith.polygons import as_multi, piece_at
from reliefsmith.recipe.tables import Mark


def sheet(*motifs: shapely.Geometry) -> Sheet:
    """Return the sheet of motifs that form a coverage."""
    return sheet_of([as_multi(motif) for motif in motifs])


def zone(sheet: Sheet, mark: Mark) -> Zone:
    """Return where a mark is meant on a sheet: the piece at its point, or its polygon."""
    if mark.polygon_mm is not None:
        shape = as_multi(shapely.Polygon(mark.polygon_mm))
        place = shape.representative_point()
        return Zone(mark, "mark", (place.x, place.y), shape)
    entry, piece = piece_at([*sheet.motifs, sheet.ground], mark.at_mm)
    number = GROUND if entry == len(sheet.motifs) else entry
    return Zone(mark, "mark", mark.at_mm, as_multi(piece), number)

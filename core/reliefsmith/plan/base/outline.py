"""The base: outline of the artwork grown by a border, or a plate under it; its color; motifs on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from ...colorimetry import color_phrase
from ...errors import GeometryError
from ...findings import Finding, Note, note
from ...model import FlatAreas, Motif, Plan
from ...polygons import (
    ARC_MM,
    GRID_MM,
    as_multi,
    grow,
    inscribed,
    merged,
    polygons_of,
    union_of_faces,
    without_openings,
)
from ...progress import Progress, Steps, drained
from ...recipe.sections import (
    BackgroundSettings,
    BaseSettings,
    ColorSettings,
    FilamentSettings,
    PieceSettings,
    PrinterSettings,
)
from ...recipe.tables import Mark
from ..hang.handle import handle_of
from ..register import in_register, stand_clear
from ..remarks import remarks
from ..strokes.premerge import without_specks
from ..zones import openings_in, spared
from .basecolor import BaseColor, base_color, same_color
from .border import Borders, bordered
from .fewer import with_fewer
from .foreseen import Foreseen
from .ground import Art, art_of, ground_note
from .plates import field_box, plate, with_spike
from .stocked import in_stock

__all__ = ["held", "outline", "outline_steps"]

LEAST_OPENING_MM = 2.0
"""Openings narrower than this are filled even where openings are kept: they close while printing."""

MARGIN_SLACK_MM = 2 * ARC_MM + GRID_MM + 0.003
"""Margins are planned wider by this: chords of arcs, rounding to the grid, thinning of the outline."""

_PLATE_SHARE = 0.08
"""A base of which more than this is filled background counts as a plate."""

_FOUND, _NONE = BackgroundSettings(), FilamentSettings()
_PRINTER, _LINKED = PrinterSettings(), PieceSettings()

_THINNED_MM = 0.002
"""Outlines are thinned by this, which keeps arcs arcs and drops needless vertices."""


def outline_steps(
    areas: FlatAreas,
    unmarked: FlatAreas | None = None,
    *,
    base: BaseSettings,
    colors: ColorSettings,
    background: BackgroundSettings = _FOUND,
    base_stock: FilamentSettings = _NONE,
    printer: PrinterSettings = _PRINTER,
    pieces: PieceSettings = _LINKED,
    outline_marks: Sequence[Mark] = (),
) -> Steps[Plan]:
    """Plan the base under flat areas: its outline, its color and the motifs that stand on it.

    Parameters
    ----------
    areas : FlatAreas
        A valid coverage in mm.
    unmarked : FlatAreas, optional
        The areas before marks corrected them, if any did: an automatic base keeps the color it had.
    base, colors, background, base_stock, printer, pieces : sections of the recipe
        The last two say what later stages make of the base, by which its color is judged.
    outline_marks : sequence of Mark
        Borders, and what is protected: openings and specks.

    Returns
    -------
    Plan
        The base may still be in several pieces. Motifs are unions of faces of the base, with the margin
        round them.

    Raises
    ------
    GeometryError
        If there are no areas, or an offset fails.
    """
    if base.rim_mm > 0:  # the rim stands outside of the motifs' margin
        base = replace(base, border_mm=max(base.border_mm, base.rim_mm + base.margin_mm))
    if not areas.art or all(areas.polygons[index].is_empty for index in areas.art):
        raise GeometryError("the artwork has no areas to print; check background and omitted colors")
    zones = spared(areas.polygons, outline_marks)
    polygons, speck_notes = without_specks(areas.polygons, areas.size_mm[0], [zone.shape for zone in zones])
    picture = art_of(areas, polygons, background.enclosed)
    if not picture.polygons:
        raise GeometryError("the artwork has only specks too small to print; use a larger width")
    yield Progress("growing the border", 0.05)
    art = union_of_faces(picture.polygons)
    yield Progress("growing the border", 0.1)
    borders, marked, missed = bordered(art, areas.polygons, base, outline_marks)
    grown = borders.grown
    held_open = openings_in(areas.polygons, zones)
    field = field_box(areas.size_mm, base.field_mm) if base.field_mm else shapely.Polygon()
    shape, notes = _base_shape(art, field, borders, base, held_open)
    if base.spike_mm is not None:
        shape = with_spike(shape, base.spike_mm)
    is_plate = shape.difference(grown).area > _PLATE_SHARE * shape.area
    yield Progress("choosing the color of the base", 0.4)
    later = Foreseen.of(printer, pieces)
    if colors.base != "auto" or unmarked is None or unmarked.polygons == areas.polygons:
        chosen = base_color(picture, shape, colors.base, is_plate=is_plate, later=later)
    else:
        before = art_of(unmarked, unmarked.polygons, background.enclosed)
        chosen = base_color(before, shape, is_plate=is_plate, later=later)
        chosen = _after_marks(chosen, picture, shape, is_plate=is_plate, later=later)
    lacking: tuple[Finding, ...] = ()
    if colors.base == "auto":
        chosen, lacking = in_stock(chosen, picture, shape, base_stock)
    picture, chosen, folded = with_fewer(picture, shape, chosen, colors, base_stock)
    motifs = [
        Motif(color, polygon)
        for index, (color, polygon) in enumerate(zip(picture.colors, picture.polygons, strict=True))
        if index != chosen.index
    ]
    yield Progress("putting motifs on the base", 0.6)
    wide, held_notes = held(shape, motifs, base.margin_mm)
    whole, kept = in_register(wide, motifs)
    shown = chosen.index == picture.enclosed
    said = (*chosen.notes, *ground_note(picture, is_base=shown))
    return Plan(
        base=whole,
        base_color=chosen.color,
        base_is_extra=chosen.index is None,
        motifs=kept,
        areas=areas.polygons,
        area_colors=tuple((int(red), int(green), int(blue)) for red, green, blue in areas.colors),
        frame=areas.frame,
        artwork_mm=areas.size_mm,
        findings=(*areas.findings, *missed, *lacking, *folded),
        notes=(*areas.notes, *speck_notes, *said, *marked, *notes, *held_notes),
        handle=handle_of(picture, [zone.shape for zone in zones]) if shown else shapely.MultiPolygon(),
    )


outline = drained(outline_steps)


def held(
    base: shapely.Geometry, motifs: list[Motif] | tuple[Motif, ...], margin: float
) -> tuple[shapely.MultiPolygon, tuple[Note, ...]]:
    """Grow the base where motifs reach over it or stand nearer to its edge than the margin.

    Returns
    -------
    (MultiPolygon, tuple of Note)
        The base, and a note for each place where it had to grow.
    """
    if not motifs or stand_clear(base, [motif.polygon for motif in motifs], margin + MARGIN_SLACK_MM):
        return as_multi(base), ()
    together = union_of_faces([motif.polygon for motif in motifs])
    bed = grow(together, margin + MARGIN_SLACK_MM) if margin > 0 else together
    missing = bed.difference(base)
    if missing.is_empty:
        return as_multi(base), ()
    notes = remarks("base-grown", missing, "The base was grown under a motif there, over {size} mm.")
    return merged([base, bed]), notes


def _after_marks(
    chosen: BaseColor, picture: Art, base: shapely.Geometry, *, is_plate: bool, later: Foreseen
) -> BaseColor:
    """Return the color chosen before marks as one of the picture after them; anew if they took it out."""
    same = same_color(chosen.color, picture.colors)
    if same is not None:
        return BaseColor(picture.colors[same], same)
    if chosen.index is None:
        return chosen
    anew = base_color(picture, base, is_plate=is_plate, later=later)
    gone, now = color_phrase(chosen.color), color_phrase(anew.color)
    words = f"Marks took {gone}, the base's color, out of the artwork; the base is {now}"
    return replace(anew, notes=(*anew.notes, note("base-color-anew", f"{words} now.")))


def _base_shape(
    art: shapely.MultiPolygon,
    field: shapely.Polygon,
    borders: Borders,
    base: BaseSettings,
    held_open: shapely.MultiPolygon,
) -> tuple[shapely.MultiPolygon, tuple[Note, ...]]:
    """Return the shape of the base before motifs are considered, and notes of openings filled."""
    grown = borders.grown
    wanted = polygons_of(without_openings(grown).difference(grown))  # islands in openings stay
    if base.shape != "outline":  # under it lies a plate: gaps that borders closed off are no openings
        own = without_openings(art).difference(art)
        wanted = [opening for opening in wanted if opening.intersects(own)]
    stays = [_is_kept(opening, base) or opening.intersects(held_open) for opening in wanted]
    kept = [opening for opening, stay in zip(wanted, stays, strict=True) if stay]
    filled = [opening for opening, stay in zip(wanted, stays, strict=True) if not stay]
    if base.shape == "outline":
        shape = merged([without_openings(grown), grow(field, base.border_mm, base.corners)])
    else:
        shape = merged([plate(merged([art, field]), base), borders.wider])
    if kept:
        shape = as_multi(shape.difference(shapely.MultiPolygon(kept)))
    if base.border_mm > 0 or base.shape != "outline":
        shape = as_multi(shapely.simplify(shape, _THINNED_MM))
    if not held_open.is_empty:
        shape = as_multi(shape.difference(held_open))  # as drawn, without the border in it
    notes = remarks("opening-filled", filled, "An opening of {size} mm was filled.")
    return shape, notes


def _is_kept(opening: shapely.Polygon, base: BaseSettings) -> bool:
    if base.openings == "fill":
        return False
    least = LEAST_OPENING_MM if base.openings == "keep" else max(LEAST_OPENING_MM, base.small_opening_mm)
    return bool(2 * inscribed(opening).radius >= least)

"""A second picture laid into the back: in its colors, in the free area, made printable like the front."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from ...colorimetry import ciede2000, color_word, srgb_to_lab
from ...colorimetry.difference import SAME_COLOR
from ...errors import GeometryError
from ...findings import Note, finding, note
from ...model import Drawing, FlatAreas, Mended, Motif, Plan, Pocket
from ...model.arrays import Color
from ...polygons import as_multi, merged, noded_coverage, polygons_of
from ...progress import Progress, Steps, drained
from ...recipe.sections import BackSettings, BaseSettings, MotifSettings, PrinterSettings
from ...recipe.sections.limits import MOST_COLORS, NARROWEST_MM
from ...typeset.textfit import Fit, hull_of, largest_fit, thinned
from ..inscriptions.compose import turned_shape
from ..inscriptions.rooms import back_room
from ..strokes.leastwidths import Limits
from ..strokes.repair import mend_steps

__all__ = ["lay", "lay_steps"]

_SHARES = (1.0, 0.97, 0.94, 0.9, 0.8)
"""Repair makes strokes wider: a picture that is fitted is tried at such shares of its width as drawn."""

_NEAR_MM = 0.05
"""How exactly the width of a picture at a given place is found."""

_NOTHING = shapely.MultiPolygon()


@dataclass(frozen=True, slots=True)
class _Drawn:
    """The picture round its middle as it is seen through the piece from the front, and its colors' areas."""

    motifs: tuple[Motif, ...]
    width_mm: float

    @property
    def hull(self) -> shapely.Polygon:
        return hull_of(merged([item.polygon for item in self.motifs]))

    def placed(self, width_mm: float, at_mm: tuple[float, float]) -> tuple[shapely.MultiPolygon, ...]:
        """Return the areas at a width, on the grid, their middle at a place."""
        shapes = [_scaled(item.polygon, width_mm / self.width_mm, at_mm) for item in self.motifs]
        return noded_coverage([as_multi(shapely.make_valid(shape)) for shape in shapes])


def lay_steps(
    plan: Plan,
    areas: FlatAreas | None,
    kept: shapely.MultiPolygon = _NOTHING,
    *,
    back: BackSettings,
    base: BaseSettings,
    motif: MotifSettings,
    printer: PrinterSettings,
) -> Steps[Plan]:
    """Lay the areas of a second picture into the back of a plan.

    A color that counts as one of the piece's takes its filament; what has the base's is left to the base.
    The picture is as large as its hull goes into the free area, unless it has a width.

    Parameters
    ----------
    plan : Plan
        With its hole.
    areas : FlatAreas or None
        The picture's, of any size; None where there is no second picture.
    kept : MultiPolygon
        What of the back is taken by texts that have a place of their own.
    back, base, motif, printer : sections of the recipe

    Raises
    ------
    GeometryError
        If nothing of it would be seen, it has too many colors, fits nowhere, or is too fine to be mended.
    """
    if areas is None:
        return plan
    yield Progress("finding room on the back", 0.0)
    told = (replace(item, message=f"On the back: {item.message}", at_mm=None) for item in areas.findings)
    plan = replace(plan, findings=(*plan.findings, *told))
    drawn = _drawn(plan, areas, back)
    room = back_room(plan, base, Limits.of(motif, printer), kept)
    place = _fitted(room, drawn, back)
    for share in (1.0,) if back.width_mm else _SHARES:
        width = share * place.size_mm
        yield Progress("making the back's strokes printable", 0.3)
        shapes = drawn.placed(width, place.at_mm)
        drawing = Drawing(shapes, sum(shape.area for shape in shapes), width, plan.base_color)
        mended = yield from mend_steps(drawing, areas, motif=motif, printer=printer)
        whole = merged(mended.motifs)
        if shapely.covers(room, whole):
            return _laid(plan, drawn, mended, whole, back)
    x, y = (round(value, 1) + 0.0 for value in place.at_mm)
    raise GeometryError(
        f"back.picture comes too near to an edge, a hole, a pocket or a text round ({x:g}, {y:g}) mm once it"
        " is printable; give back.width_mm less, or move it"
    )


lay = drained(lay_steps)


def _drawn(plan: Plan, areas: FlatAreas, back: BackSettings) -> _Drawn:
    """Return the picture mirrored and turned, each area in the color that it will be printed in."""
    shapes: dict[Color, list[shapely.Geometry]] = {}
    for color, polygon in zip(_printed(plan, areas, back), areas.polygons, strict=True):
        shapes.setdefault(color, []).append(turned_shape(polygon, back.turn_deg, mirrored=True))
    shapes.pop(plan.base_color, None)
    if not shapes:
        raise GeometryError(
            "back.picture has no color but the base's, and would not be seen; give the base another color"
            " (colors.base), or take another picture"
        )
    new = [color for color in shapes if all(item.color != color for item in plan.motifs)]
    if len(plan.motifs) + len(new) > MOST_COLORS:
        raise GeometryError(
            f"back.picture would make {len(plan.motifs) + len(new)} colors beside the base's, and"
            f" {MOST_COLORS} are the most; set back.palette to piece, or back.colors to fewer"
        )
    left, low, right, high = shapely.total_bounds([one for group in shapes.values() for one in group])
    middle = (-(left + right) / 2, -(low + high) / 2)
    motifs = [Motif(color, _scaled(merged(group), 1.0, middle)) for color, group in shapes.items()]
    return _Drawn(tuple(motifs), float(right - left))


def _printed(plan: Plan, areas: FlatAreas, back: BackSettings) -> list[Color]:
    """Return the color that each area is printed in: the piece's where that is alike, or is asked for."""
    own = [plan.base_color, *(motif.color for motif in plan.motifs)]
    labs = srgb_to_lab(np.array(own, dtype=np.uint8))
    gaps = ciede2000(srgb_to_lab(areas.colors)[:, None, :], labs[None, :, :])
    nearest, least = gaps.argmin(axis=1), gaps.min(axis=1)
    return [
        own[near] if back.palette == "piece" or gap < SAME_COLOR else (int(red), int(green), int(blue))
        for (red, green, blue), near, gap in zip(areas.colors, nearest.tolist(), least.tolist(), strict=True)
    ]


def _fitted(room: shapely.Geometry, drawn: _Drawn, back: BackSettings) -> Fit:
    """Return where the picture lies and how wide: as asked, else as large as its hull goes into the room."""
    asked, hull = back.width_mm, drawn.hull
    most = asked or max(
        math.dist(room.bounds[:2], room.bounds[2:]) if not room.is_empty else 0.0, NARROWEST_MM
    )
    least = asked or NARROWEST_MM

    def hull_at(width: float, at: tuple[float, float] = (0.0, 0.0)) -> shapely.Polygon:
        return _scaled(hull, width / drawn.width_mm, at)

    if back.at_mm is not None:
        at = back.at_mm
        if asked is None:
            return Fit(_widest(lambda width: shapely.covers(room, hull_at(width, at)), least, most), at)
        return Fit(asked, at)
    fits = [
        fit
        for piece in polygons_of(room)
        for thin in thinned(piece)
        if (fit := largest_fit(thin, hull_at, least, most)) is not None
    ]
    if not fits:
        raise GeometryError(
            f"back.picture has no room on the back with a width of {least:g} mm: edges, holes, pockets and"
            " texts leave less; print the piece larger, or free the back"
        )
    return max(fits, key=lambda fit: fit.size_mm)


def _widest(fits: Callable[[float], bool], least: float, most: float) -> float:
    """Return the largest width that fits, between two, by bisection.

    Raises
    ------
    GeometryError
        If the least does not.
    """
    if not fits(least):
        raise GeometryError(
            f"back.picture has no room at back.at_mm with a width of {least:g} mm; move it, or leave at_mm"
            " out"
        )
    while most - least > _NEAR_MM:
        middle = (least + most) / 2
        least, most = (middle, most) if fits(middle) else (least, middle)
    return least


def _laid(plan: Plan, drawn: _Drawn, mended: Mended, whole: shapely.Geometry, back: BackSettings) -> Plan:
    """Return the plan with the mended picture in its back, and what is to be said of it."""
    pairs = zip(drawn.motifs, mended.motifs, strict=True)
    inlays = tuple(
        Pocket("picture", shape, back.depth_mm, "back", item.color)
        for item, shape in pairs
        if not shape.is_empty
    )
    left, low, right, high = whole.bounds
    x, y = round((left + right) / 2, 2) + 0.0, round((low + high) / 2, 2) + 0.0
    colors = [color_word(item.color) for item in drawn.motifs]
    words = (
        f"The second picture lies in the back, {right - left:.1f} x {high - low:.1f} mm and"
        f" {back.depth_mm:g} mm deep, in {_listed(colors)}; those layers hold these colors and the base's."
    )
    told = (note("back-repaired", _behind(item), size_mm=item.size_mm) for item in mended.notes)
    findings = plan.findings
    if mended.much:
        findings += (finding("much-repaired", f"On the back: {mended.much}"),)
    notes = (*plan.notes, note("picture-laid", words, (x, y), round(right - left, 2)), *told)
    return replace(plan, inlays=inlays, notes=notes, findings=findings)


def _behind(item: Note) -> str:
    """Return what a note says, with its place, which is none of the front."""
    if item.at_mm is None:
        return f"On the back: {item.message}"
    return f"On the back at {item.at_mm[0]:g}, {item.at_mm[1]:g} mm: {item.message}"


def _listed(words: Sequence[str]) -> str:
    return ", ".join(words[:-1]) + " and " + words[-1] if len(words) > 1 else words[0]


def _scaled(shape: shapely.Geometry, by: float, at: tuple[float, float]) -> shapely.Geometry:
    """Return a shape scaled about the origin, then moved."""
    return shapely.transform(shape, lambda points: points * by + np.array(at))

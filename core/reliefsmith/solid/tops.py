"""Shaped tops: the upper layers of motifs beveled, crowned, or following the picture's brightness.

Walls stay upright up to the edge, so neighbors share them as before; all that changes lies inside and above.
One layer of every motif stays upright. What is too narrow for a bead ends, and its top is level there.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from ..errors import GeometryError
from ..findings import Finding, Note, finding, note
from ..mesh import ends_within, insets, refined, room_for
from ..model import Contours, Field, Slab
from ..polygons import as_multi, polygons_of
from ..progress import Progress, Steps
from ..recipe.sections import HeightSettings
from .brightness import Picture, Shares, brightness_shares
from .layergrid import LayerGrid
from .levels import Levels
from .table import FINE_LAYER_MM, LEAST_RISE_MM

__all__ = ["RIM_MM", "topped_steps"]

RIM_MM = 0.02
"""Width of the level rim round a slope whose strokes end: 20 grid steps, a twentieth of a bead."""

LEAST_RUN_MM = 0.05
"""A slope runs at least this far: where a motif is hardly wider than a bead it is nearly upright."""

STEP_MM = 0.1
"""Contours of a bevel lie this far apart in height at most: half a usual layer."""

CHORD_MM = 0.02
"""Farthest that a crown, were it as wide as high, lies from its chords: a tenth of a usual layer."""

_LEAST_BANDS, _MOST_BANDS = 4, 16

_ROUNDING_MM = 1e-6


@dataclass(frozen=True, slots=True)
class _Shape:
    """A profile from the edge, at 0, to where it ends, at 1, both inward and upward."""

    run_mm: float
    inward: tuple[float, ...]
    upward: tuple[float, ...]
    may_skip: bool
    """Whether the profile is straight, so that points between are needed only where strokes end."""


@dataclass(frozen=True, slots=True)
class _Piece:
    """A connected piece of a motif, how far its slope runs, and the bead that its top must hold, or 0."""

    polygon: shapely.Polygon
    run_mm: float
    bead_mm: float


def topped_steps(
    levels: Levels, grid: LayerGrid, heights: HeightSettings, nozzle_mm: float, picture: Picture | None
) -> Steps[Levels]:
    """Shape the tops of motifs: of raised ones all, of steps the last.

    Parameters
    ----------
    levels : Levels
        With flat tops, printed face up.
    grid : LayerGrid
    heights : HeightSettings
    nozzle_mm : float
        Width of a bead.
    picture : Picture or None
        Needed for tops by brightness only.

    Raises
    ------
    GeometryError
        If tops by brightness lack the picture.
    """
    motifs = [slab for slab in levels.slabs if slab.part != "base"]
    chosen = motifs[-1:] if heights.style == "stepped" else motifs
    if heights.top == "flat" or not chosen:
        return levels
    asked = _asked(heights)
    rises = [min(asked(slab), _height(slab) - grid.layers_mm(1)) for slab in chosen]
    fits = [rise > _ROUNDING_MM for rise in rises]
    shares = None
    if heights.top == "brightness" and any(fits):
        yield Progress("reading the brightness", 0.5)
        shares = _shares(picture, chosen, max(rises), heights, nozzle_mm)
    shaped: dict[str, Slab] = {}
    for number, (slab, rise) in enumerate(zip(chosen, rises, strict=True)):
        if rise > _ROUNDING_MM:
            yield Progress(f"shaping the top of {slab.part}", 0.5 + 0.4 * number / len(chosen))
            shaped[slab.part] = (
                _draped(slab, rise, shares)
                if shares is not None
                else _sloped(slab, rise, _profile(heights, rise), nozzle_mm)
            )
    slabs = tuple(shaped.get(slab.part, slab) for slab in levels.slabs)
    highest = max(slab.highest_mm for slab in slabs)
    # A layer is printed if its middle lies in the piece.
    layers = sum(
        grid.top_mm(layer - 1) + grid.top_mm(layer) < 2 * highest for layer in range(1, levels.layers + 1)
    )
    limited = _limited(chosen, rises, [asked(slab) for slab in chosen], heights)
    return replace(
        levels,
        slabs=slabs,
        layers=layers,
        notes=(*levels.notes, *limited),
        findings=(*levels.findings, *_coarse(rises, heights)),
    )


def _height(slab: Slab) -> float:
    return slab.highest_mm - slab.bottom_mm


def _asked(heights: HeightSettings) -> Callable[[Slab], float]:
    """Return how high the shape of a motif shall be."""
    if heights.top == "brightness":
        return lambda slab: _height(slab) - heights.least_mm
    rise = heights.edge_mm if heights.top == "chamfer" else heights.crown_mm
    return lambda _: rise


def _profile(heights: HeightSettings, rise_mm: float) -> _Shape:
    """Return the profile of a bevel, straight, or of a crown, a quarter of an ellipse."""
    if heights.top == "chamfer":
        count = min(max(1, math.ceil(rise_mm / STEP_MM - _ROUNDING_MM)), _MOST_BANDS)
        even = tuple(step / count for step in range(1, count + 1))
        return _Shape(rise_mm / math.tan(math.radians(heights.edge_deg)), even, even, may_skip=True)
    # A chord over the angle a lies up to r (1 - cos(a / 2)) below its arc.
    half = math.acos(1 - min(CHORD_MM / rise_mm, 0.5))
    count = min(max(_LEAST_BANDS, math.ceil(math.pi / 4 / half)), _MOST_BANDS)
    turns = [math.pi / 2 * step / count for step in range(1, count + 1)]
    inward = tuple(1 - math.cos(turn) for turn in turns[:-1])
    return _Shape(
        heights.crown_reach_mm, (*inward, 1.0), tuple(math.sin(turn) for turn in turns), may_skip=False
    )


def _sloped(slab: Slab, rise_mm: float, shape: _Shape, bead_mm: float) -> Slab:
    """Return a slab whose top slopes up from its edge."""
    pieces = [_piece(piece, shape.run_mm, bead_mm) for piece in polygons_of(slab.polygon)]
    edge = round(slab.highest_mm - rise_mm, 3)
    outline = as_multi([piece.polygon for piece in pieces])
    if shape.may_skip and all(direct := [_straight(piece) for piece in pieces]):
        inner = as_multi([item for item in direct if item is not None])
        return replace(slab, top=Contours((outline, inner), (edge, slab.highest_mm)))
    offsets = [[piece.run_mm * share for share in _spread(shape.inward, piece.run_mm)] for piece in pieces]
    pairs = list(zip(pieces, offsets, strict=True))
    rim = RIM_MM if any(_ends(piece, own[0]) for piece, own in pairs) else 0.0
    rows = [_contours(piece, [rim + one for one in own], rim) for piece, own in pairs]
    levels = [edge, *([edge] if rim else []), *(round(edge + rise_mm * share, 3) for share in shape.upward)]
    levels[-1] = slab.highest_mm
    shapes = [as_multi([row[level] for row in rows if level < len(row)]) for level in range(len(levels))]
    kept = sum(not item.is_empty for item in shapes)
    return replace(slab, top=Contours((outline, *shapes[1:kept]), tuple(levels[:kept])))


def _piece(polygon: shapely.Polygon, run_mm: float, bead_mm: float) -> _Piece:
    room = room_for(polygon, run_mm + RIM_MM, bead_mm) - RIM_MM  # so that its end still holds a bead
    return _Piece(polygon, room, bead_mm) if room >= LEAST_RUN_MM else _Piece(polygon, LEAST_RUN_MM, 0.0)


def _straight(piece: _Piece) -> shapely.MultiPolygon | None:
    """Return the inner end of a straight slope, or None where strokes end on the way."""
    found = insets(piece.polygon, (piece.run_mm,), piece.bead_mm)
    return None if not found or ends_within(piece.polygon, found[0], piece.run_mm) else found[0]


def _ends(piece: _Piece, offset_mm: float) -> bool:
    """Tell whether strokes of a piece end before its first contour."""
    found = insets(piece.polygon, (offset_mm,), piece.bead_mm)
    return bool(found) and ends_within(piece.polygon, found[0], offset_mm)


def _spread(inward: Sequence[float], run_mm: float) -> Sequence[float]:
    """Return even shares where the first step of a profile would be finer than the contours may lie."""
    least = LEAST_RUN_MM / _LEAST_BANDS / 2
    return inward if run_mm * inward[0] >= least else [(k + 1) / len(inward) for k in range(len(inward))]


def _contours(piece: _Piece, offsets_mm: Sequence[float], rim_mm: float) -> list[shapely.MultiPolygon]:
    """Return a polygon and its contours, the rim first, with vertices wherever a stroke ends."""
    offsets = [*([rim_mm] if rim_mm else []), *offsets_mm]
    found = [as_multi(piece.polygon), *insets(piece.polygon, offsets, piece.bead_mm)]
    for level in range(1, len(found) - 1):
        finer = as_multi(refined(found[level], found[level + 1], offsets[level] - offsets[level - 1]))
        if shapely.contains_properly(found[level - 1], finer) and shapely.contains_properly(
            finer, found[level + 1]
        ):
            found[level] = finer
    return found


def _shares(
    picture: Picture | None,
    slabs: Sequence[Slab],
    rise_mm: float,
    heights: HeightSettings,
    bead_mm: float,
) -> Shares:
    if picture is None:
        raise GeometryError("tops by brightness need the picture; make its relief anew, or set heights.top")
    together = as_multi([slab.polygon for slab in slabs])
    return brightness_shares(
        picture,
        together if together.is_valid else shapely.union_all([slab.polygon for slab in slabs]),
        step_mm=round(bead_mm, 3),
        rise_mm=rise_mm,
        light_is_high=heights.higher == "light",
    )


def _draped(slab: Slab, rise_mm: float, shares: Shares) -> Slab:
    """Return a slab whose top follows the shares; one that is level everywhere stays flat."""
    edge = round(slab.highest_mm - rise_mm, 3)
    rows, columns = shares.values.shape
    x = shares.origin_mm[0] + np.arange(columns) * shares.step_mm
    y = shares.origin_mm[1] + np.arange(rows) * shares.step_mm
    near = shapely.buffer(slab.polygon, 1.5 * shares.step_mm)
    shapely.prepare(near)
    own = shapely.contains_xy(near, *np.meshgrid(x, y))
    values = np.where(own, edge + rise_mm * shares.values, edge)
    if np.ptp(values[own]) == 0:
        return replace(slab, top=round(float(values[own][0]), 3))
    return replace(slab, top=Field(values.astype(np.float32), shares.origin_mm, shares.step_mm, edge))


def _limited(
    slabs: Sequence[Slab], rises: Sequence[float], asked: Sequence[float], heights: HeightSettings
) -> tuple[Note, ...]:
    """Return a note of tops that are lower than asked, because a layer stays upright."""
    less = [
        f"{slab.part} {max(0.0, rise):g} mm"
        for slab, rise, wanted in zip(slabs, rises, asked, strict=True)
        if rise < wanted - _ROUNDING_MM
    ]
    if not less:
        return ()
    words = f"The {heights.top} of motifs is lower than asked, so that one layer stays upright: "
    return (note("top-limited", f"{words}{', '.join(less)}."),)


def _coarse(rises: Sequence[float], heights: HeightSettings) -> tuple[Finding, ...]:
    """Say when a shape comes out as a few terraces."""
    rise = max(rises)
    layers = rise / heights.layer_mm
    least = 2 * heights.layer_mm if heights.top == "chamfer" else LEAST_RISE_MM
    if rise <= _ROUNDING_MM or rise >= least - _ROUNDING_MM or heights.layer_mm <= FINE_LAYER_MM:
        return ()
    words = (
        f"The {heights.top} rises by {rise:g} mm, so it prints as {max(1, math.ceil(layers - _ROUNDING_MM))}"
        f" terraces; set {_for_rise(least, heights)}heights.layer_mm to {FINE_LAYER_MM:g}."
    )
    return (finding("top-coarse", words),)


def _for_rise(least: float, heights: HeightSettings) -> str:
    """Return the settings that let a top rise that far, with one layer upright below it."""
    asked = {"chamfer": ("edge_mm", heights.edge_mm), "crown": ("crown_mm", heights.crown_mm)}
    name, rise = asked.get(heights.top, ("", least))
    tall = least + heights.layer_mm
    changes = [f"heights.{name} to {least:g}"] if rise < least - _ROUNDING_MM else []
    if heights.motif_mm < tall - _ROUNDING_MM:
        changes.append(f"heights.motif_mm to {tall:g}")
    return f"{' and '.join(changes)}, or " if changes else ""

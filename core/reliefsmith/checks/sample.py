"""The picture carried to cells of the plan's frame, for judging a piece by it."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from PIL import Image

from ..colorimetry.reference import CELL_MM, PAIR_CELLS, reference
from ..colorimetry.seen import BORDER_MM
from ..model import Artwork, FlatAreas, Frame, Sample, Separation
from ..model.arrays import Labels
from ..polygons.cover import View, covering
from ..polygons.runs import find_pieces
from ..progress import Progress, Steps, drained
from ..recipe.sections import BackgroundSettings

__all__ = ["sample", "sample_steps"]

_MOST_CELLS = 1000
"""Along the longest side: a piece of more than 200 mm is looked at from farther away."""

_MOST_FINE = 4
"""Points of the picture along a cell's side whose mean it shows."""

_CALLED_SO = 2.0
"""Levels within which a flat color is the one that its pixels have, and not one that the user gave it."""

Flags = npt.NDArray[np.bool_]


def sample_steps(
    artwork: Artwork | None,
    separation: Separation | None,
    flat: FlatAreas | None,
    marked: FlatAreas,
    background: BackgroundSettings,
) -> Steps[Sample | None]:
    """Carry the picture's pixels to cells: the larger of 0.2 mm and a thousandth of the longest side.

    Parameters
    ----------
    artwork, separation, flat
        None where an old plan is used again without its picture: then there is nothing to judge by.
    marked : FlatAreas
        Where marks changed an area, the picture is taken for changed as they say.
    background : BackgroundSettings
        Whether enclosed ground was taken away.

    Notes
    -----
    The pixels are those before separation, so that colors merged wrongly count as lost; where shadows or
    shading were evened out, those without them.
    """
    if artwork is None or separation is None or flat is None:
        return None
    yield Progress("looking at the picture", 0.0)
    cell = max(CELL_MM, max(marked.size_mm) / _MOST_CELLS)
    half_width, half_height = marked.size_mm[0] / 2, marked.size_mm[1] / 2
    room = BORDER_MM + (PAIR_CELLS + 1) * cell
    view = View.around((-half_width, -half_height, half_width, half_height), 1 / cell, pad_mm=room)
    rgb, opacity = _colors(artwork, separation, marked.frame, view)
    yield Progress("looking at the picture", 0.6)
    labels, beyond = _labels(separation.labels, artwork, marked.frame, view)
    rgb = _as_called(rgb, labels, separation)
    outside = labels == 0
    if not artwork.has_alpha:
        outside &= beyond | _is_open(labels, background)
    if flat.enclosed is not None:
        outside &= covering([flat.polygons[flat.enclosed]], view) == 0
    clear = beyond | (outside & (opacity < 0.5))
    if flat.polygons != marked.polygons:
        rgb, outside, clear = _as_marked((rgb, outside, clear), flat, marked, view)
    yield Progress("looking for edges", 0.7)
    wanted = reference(rgb, outside, clear, cell)
    return Sample(
        wanted.rgb,
        wanted.lab,
        wanted.outside,
        wanted.clear,
        wanted.first,
        wanted.second,
        view.left_mm,
        view.top_mm,
        cell,
    )


sample = drained(sample_steps)


def _to_pixels(artwork: Artwork, frame: Frame, view: View, fine: int) -> tuple[float, ...]:
    """Return the affine map from parts of cells, `fine` to a side, to pixels of the picture as read."""
    step = artwork.scale / (frame.mm_per_px * view.px_per_mm * fine)
    cosine = math.cos(math.radians(frame.turn_deg))
    sine = math.sin(math.radians(frame.turn_deg))
    left, top = view.left_mm / frame.mm_per_px, -view.top_mm / frame.mm_per_px
    x = (frame.origin_px[0] + cosine * left - sine * top) * artwork.scale
    y = (frame.origin_px[1] + sine * left + cosine * top) * artwork.scale
    return (step * cosine, -step * sine, x, step * sine, step * cosine, y)


def _colors(
    artwork: Artwork, separation: Separation, frame: Frame, view: View
) -> tuple[npt.NDArray[np.uint8], npt.NDArray[np.float32]]:
    """Return the mean color of each cell, weighted by opacity, and its opacity, 0 beyond the picture."""
    pixels_a_cell = artwork.scale / (frame.mm_per_px * view.px_per_mm)
    fine = min(max(math.ceil(pixels_a_cell), 1), _MOST_FINE)
    size = (view.size_px[0] * fine, view.size_px[1] * fine)
    rgb = artwork.rgb if separation.evened is None else separation.evened
    picture = Image.fromarray(rgb)
    if artwork.has_alpha:
        picture.putalpha(Image.fromarray((artwork.alpha * 255 + 0.5).astype(np.uint8)))
    picture = picture.convert("RGBA").convert("RGBa")  # so that what is not seen, or beyond, colors nothing
    method, way = Image.Transform.AFFINE, Image.Resampling.NEAREST
    cells = picture.transform(size, method, _to_pixels(artwork, frame, view, fine), way).reduce(fine)
    straight: npt.NDArray[np.uint8] = np.asarray(cells.convert("RGBA"))
    opacity = straight[..., 3] if artwork.has_alpha else np.full(straight.shape[:2], 255, dtype=np.uint8)
    return straight[..., :3], (opacity / 255).astype(np.float32)


def _labels(labels: Labels, artwork: Artwork, frame: Frame, view: View) -> tuple[Labels, Flags]:
    """Return the label at the middle of each cell, and which cells lie beyond the picture."""
    numbers = Image.fromarray(labels.astype(np.int32) + 1)
    method, way = Image.Transform.AFFINE, Image.Resampling.NEAREST
    cells = np.asarray(numbers.transform(view.size_px, method, _to_pixels(artwork, frame, view, 1), way))
    return np.maximum(cells - 1, 0).astype(np.uint8), cells == 0


def _as_called(rgb: npt.NDArray[np.uint8], labels: Labels, separation: Separation) -> npt.NDArray[np.uint8]:
    """Give the cells of colors that the user called otherwise the color that is wanted."""
    if separation.shown is None:
        return rgb
    off = np.abs(separation.shown[1:] - separation.colors).max(axis=1)
    for number in np.flatnonzero(off > _CALLED_SO):
        rgb = np.where((labels == number + 1)[..., None], separation.colors[number], rgb)
    return rgb


def _is_open(labels: Labels, background: BackgroundSettings) -> Flags:
    """Tell which ground cells are outside: what the art encloses shows, unless the user took it away."""
    if background.enclosed == "remove" or background.color != "auto":
        everywhere: Flags = labels == 0
        return everywhere
    pieces = find_pieces(labels)
    outside = np.zeros(labels.size, dtype=bool)
    outside[pieces.pixels((pieces.labels == 0) & pieces.at_border)] = True
    return outside.reshape(labels.shape)


def _as_marked(
    taken: tuple[npt.NDArray[np.uint8], Flags, Flags], flat: FlatAreas, marked: FlatAreas, view: View
) -> tuple[npt.NDArray[np.uint8], Flags, Flags]:
    """Change colors, outside and clear as marks changed the areas: other colors, or nothing."""
    rgb, outside, clear = taken
    before, after = covering(flat.polygons, view), covering(marked.polygons, view)
    colors = [np.concatenate([np.zeros((1, 3), np.uint8), areas.colors]) for areas in (flat, marked)]
    anew = (after > 0) & ((before == 0) | (colors[0][before] != colors[1][after]).any(axis=2))
    gone = (before > 0) & (after == 0)
    changed = np.where(anew[..., None], colors[1][after], rgb)
    return changed, (outside & ~anew) | gone, (clear & ~anew) | gone

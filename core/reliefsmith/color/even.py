"""Soft changes of color evened out: shadows become background, a shaded area one flat color or few bands.

The result is a picture as if drawn flat, its edge pixels too: an edge pixel is a mix of what lies on its two
sides, and changes by the same mix of their changes. So everything after finds flat colors that meet at edges.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ..plane.groups import joined
from ..plane.runs import Pieces, find_pieces
from ..progress import Progress, Steps
from .beside import with_edges
from .calm import LEAST_RANGE, is_rippled, softening
from .fold import Part, halves, has_edge, jumps, one_for_alike, parts_of
from .mixing import Bytes, Flags, Mixing
from .modes import Bins, Floats, Ints
from .shadow import mark_shadow, may_have_shadow
from .soft import Picture, may_be_shaded

__all__ = ["evened_steps"]

_LEAST_SPREAD, _LEAST_SPREAD_LOSSY = 1.2, 2.0  # levels: standard deviation of an area with a slope
_SPREAD_PER_SIGMA = 3.0  # a photograph's light is evened to a few levels only
_LEAST_PX = 16
_SOFT_SHARE = 0.002  # of the picture that has slopes, at least
_MOST_AREAS = 300  # evened, the largest first


def evened_steps(
    mixing: Mixing,
    calm: Flags,
    keys: npt.NDArray[np.int32],
    bins: Bins,
    *,
    ranges: Bytes,
    background: Floats | None,
    sigma: float,
    lossy: bool,
    saved_lossy: bool,
    scale: float,
) -> Steps[tuple[Mixing, bool, bool] | None]:
    """Even out shadows on the background and shading within areas.

    Parameters
    ----------
    mixing : Mixing
    calm : bool array of shape (h, w)
    keys : int32 array of shape (h, w)
        Histogram bin of each pixel.
    bins : Bins
        The calm pixels by color.
    ranges : uint8 array of shape (h, w)
        Of `local_range`.
    background : float64 array of shape (3,) or None
        None where it is transparent or there is none.
    sigma : float
        Noise in levels.
    lossy : bool
        Whether flat areas ripple; a slope looks as if it did.
    saved_lossy : bool
        Whether the file was saved so.
    scale : float
        Pixels per pixel of the source.

    Returns
    -------
    (Mixing, bool, bool) or None
        The picture evened, whether it had a shadow, and whether it ripples where nothing was evened; None
        where there is nothing soft, the usual case.
    """
    yield Progress("looking for shading", 0.2)
    shaded = may_be_shaded(bins, sigma=sigma, lossy=lossy)
    picture = Picture(mixing, calm, keys, bins, sigma, lossy, saved_lossy, scale)
    shadowed = background is not None and may_have_shadow(picture, background)
    if shadowed:  # an app may have enlarged the picture before
        picture = replace(picture, scale=max(scale, softening(mixing)))
        shadowed = background is not None and may_have_shadow(picture, background)
    if not shaded and not shadowed:
        return None
    kinds = calm.astype(np.uint8)
    if picture.scale > 1.0:  # enlarging spreads a step over so many pixels, each of them calmer
        kinds[ranges > LEAST_RANGE / picture.scale] = 0
    shadow = False
    if background is not None and shadowed:
        shadow = mark_shadow(picture, kinds, background)
    if not shaded and not shadow:
        return None
    yield Progress("evening shading", 0.22)
    goals = _goals(picture, find_pieces(kinds), background, shaded=shaded)
    yield Progress("evening edges beside shading", 0.25)
    if goals is None:
        return None
    kept = np.logical_and.reduce([goal == plane for goal, plane in zip(goals, mixing.planes, strict=True)])
    rippled = saved_lossy or (lossy and is_rippled(ranges[kept]))
    return Mixing(with_edges(mixing, kinds, goals, lossy=rippled), mixing.opaque), shadow, rippled


def _goals(
    picture: Picture, pieces: Pieces, background: Floats | None, *, shaded: bool
) -> tuple[Bytes, ...] | None:
    """Return the planes with every soft area in its flat colors, edges as they are; None without one."""
    planes = tuple(plane.copy() for plane in picture.mixing.planes)
    if background is not None:
        _fill(planes, pieces.pixels(pieces.labels == 2), background)
    if not shaded:
        return planes
    _, spread = _statistics(picture.mixing, pieces)
    soft = np.flatnonzero(
        (pieces.labels == 1) & (spread > _least_spread(picture)) & (pieces.areas >= _LEAST_PX)
    )
    shadow = (pieces.labels == 2).any()
    if not shadow and pieces.areas[soft].sum() < _SOFT_SHARE * pieces.areas.sum():
        return None
    soft = soft[np.argsort(-pieces.areas[soft], kind="stable")][:_MOST_AREAS]
    areas = [area for own in pieces.pixels_of(soft) for area in _without_edges(picture, own)]
    parts, edges = _folded(picture, areas)
    if parts:
        for part, color in zip(parts, one_for_alike(parts, edges), strict=True):
            _fill(planes, part.pixels, color)
    return planes


def _least_spread(picture: Picture) -> float:
    """Return the standard deviation, in levels, from which on an area is no flat color."""
    return (_LEAST_SPREAD_LOSSY if picture.lossy else _LEAST_SPREAD) + _SPREAD_PER_SIGMA * picture.sigma


def _without_edges(picture: Picture, pixels: Ints) -> list[Ints]:
    """Return the soft ones of what an area falls into where its colors meet in edges that are calm."""
    planes = picture.mixing.planes[:3]
    if len(pixels) < _LEAST_PX or max(plane.ravel()[pixels].std() for plane in planes) <= _least_spread(
        picture
    ):
        return []
    upper = halves(planes, pixels)
    if not has_edge(planes, pixels, upper, picture.drawn):
        return [pixels]
    return [area for half in (pixels[~upper], pixels[upper]) for area in _without_edges(picture, half)]


def _folded(picture: Picture, areas: list[Ints]) -> tuple[list[Part], Flags]:
    """Join areas that pass into each other, and tell which of the joined ones meet in an edge."""
    planes = picture.mixing.planes[:3]
    numbers = np.zeros(picture.mixing.shape, dtype=np.int32)
    means = np.empty((len(areas), 3))
    for number, pixels in enumerate(areas):
        numbers.ravel()[pixels] = number + 1
        means[number] = [plane.ravel()[pixels].mean() for plane in planes]
    pairs, edge = jumps(planes, numbers, means, picture.drawn)
    count, group = joined(len(areas), *pairs[~edge].T)
    edges = np.zeros((count, count), dtype=bool)
    edges[tuple(group[pairs[edge]].T)] = True
    parts = []
    for own in range(count):
        whole = np.concatenate([areas[k] for k in np.flatnonzero(group == own)])
        parts += parts_of(planes, whole, own)
    return parts, edges | edges.T


def _fill(planes: tuple[Bytes, ...], pixels: Ints, color: Floats) -> None:
    for plane, value in zip(planes, color, strict=False):
        plane.ravel()[pixels] = np.uint8(np.clip(value + 0.5, 0.0, 255.0))


def _statistics(mixing: Mixing, pieces: Pieces) -> tuple[Floats, Floats]:
    """Return each piece's mean color (m, 3) and the greatest standard deviation (m,) of its channels."""
    count = len(pieces.areas)
    means, spread = np.empty((count, 3)), np.zeros(count)
    for channel, plane in enumerate(mixing.planes[:3]):
        flat = plane.ravel()
        by_run = np.add.reduceat(flat, pieces.starts, dtype=np.int64)
        squares = np.add.reduceat(flat.astype(np.uint16) ** 2, pieces.starts, dtype=np.int64)
        mean = np.bincount(pieces.of_run, weights=by_run, minlength=count) / pieces.areas
        square = np.bincount(pieces.of_run, weights=squares, minlength=count) / pieces.areas
        means[:, channel] = mean
        np.maximum(spread, np.sqrt(np.maximum(square - mean * mean, 0.0)), out=spread)
    return means, spread

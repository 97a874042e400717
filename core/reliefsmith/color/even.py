"""Soft changes of color evened out: shadows become background, a shaded area one flat color or few bands.

The result is a picture as if drawn flat, its edge pixels too: an edge pixel is a mix of what lies on its two
sides, and changes by the same mix of their changes. So everything after finds flat colors that meet at edges.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ..chroma import ciede2000, srgb_to_lab
from ..plane.runs import Pieces, find_pieces
from ..progress import Progress, Steps
from .beside import with_edges
from .calm import LEAST_RANGE, is_rippled, softening
from .mixing import Bytes, Flags, Mixing
from .modes import Bins, Floats, Ints
from .shadow import mark_shadow, may_have_shadow
from .soft import Picture, may_be_shaded, split

__all__ = ["evened_steps"]

_LEAST_SPREAD, _LEAST_SPREAD_LOSSY = 1.2, 2.0  # levels: standard deviation of an area with a slope
_SPREAD_PER_SIGMA = 3.0  # a photograph's light is evened to a few levels only
_LEAST_PX = 16
_NARROW = 5.0  # levels of standard deviation up to which an area is surely one band
_SOFT_SHARE = 0.002  # of the picture that has slopes, at least
_MOST_AREAS = 300  # evened, the largest first
_CUT_ROUNDS = 6  # after which the cut between two halves stands
_FLAT_REST = 0.35  # of an area's spread that is left in its two halves: two flat colors have 0.1, slopes 0.5
_ALIKE = 4.2  # dE00 up to which shaded areas show one color: colors 5 apart stay two


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
    picture = Picture(mixing, calm, keys, bins, sigma, lossy, scale)
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
    means, spread = _statistics(picture.mixing, pieces)
    least = (_LEAST_SPREAD_LOSSY if picture.lossy else _LEAST_SPREAD) + _SPREAD_PER_SIGMA * picture.sigma
    soft = np.flatnonzero((pieces.labels == 1) & (spread > least) & (pieces.areas >= _LEAST_PX))
    shadow = (pieces.labels == 2).any()
    if not shadow and pieces.areas[soft].sum() < _SOFT_SHARE * pieces.areas.sum():
        return None
    soft = soft[np.argsort(-pieces.areas[soft], kind="stable")][:_MOST_AREAS]
    places: list[Ints] = []
    colors: list[Floats] = []
    for piece, own in zip(soft, pieces.pixels_of(soft), strict=False):  # over areas
        if _is_two_flat(picture, own, float(spread[piece])):
            continue
        parts = _bands_of(picture, own) if spread[piece] > _NARROW else [(own, means[piece])]
        places += [pixels for pixels, _ in parts]
        colors += [color for _, color in parts]
    if places:
        weights = np.array([len(pixels) for pixels in places], dtype=np.float64)
        for pixels, color in zip(places, _one_for_alike(np.array(colors), weights), strict=True):
            _fill(planes, pixels, color)
    return planes


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


def _bands_of(picture: Picture, pixels: Ints) -> list[tuple[Ints, Floats]]:
    """Split an area into bands: the pixels and the mean color of each."""
    _, place = np.unique(picture.keys.ravel()[pixels], return_inverse=True)
    place = place.reshape(-1)
    weights = np.bincount(place).astype(np.float64)
    values = np.stack([plane.ravel()[pixels] for plane in picture.mixing.planes[:3]], axis=1)
    means = np.stack([np.bincount(place, weights=values[:, k]) / weights for k in range(3)], axis=1)
    band = split(srgb_to_lab(means), weights)
    parts = []
    for number in range(int(band.max()) + 1):
        own = band == number
        share = weights[own] / weights[own].sum()
        parts.append((pixels[own[place]], (means[own] * share[:, None]).sum(axis=0)))
    return parts


def _is_two_flat(picture: Picture, pixels: Ints, spread: float) -> bool:
    """Return whether an area is two flat colors side by side, nearer than the range of calm pixels.

    Cut at the middle between the means of its two halves, such an area has little spread left; a slope half.
    """
    values = np.stack([plane.ravel()[pixels] for plane in picture.mixing.planes[:3]]).astype(np.float32)
    along = values[int(np.argmax(values.std(axis=1)))]
    cut = along.mean()
    for _ in range(_CUT_ROUNDS):
        upper = along > cut
        if not upper.any():
            return False
        cut = (along[upper].mean() + along[~upper].mean()) / 2
    upper = along > cut
    if not upper.any():
        return False
    rest = along - np.where(upper, along[upper].mean(), along[~upper].mean())
    return bool(rest.std() < _FLAT_REST * spread)


def _one_for_alike(colors: Floats, weights: Floats) -> Floats:
    """Give shaded areas whose mean colors are near to each other the mean of them all."""
    labs = srgb_to_lab(colors)
    of_color = np.full(len(colors), -1, dtype=np.int64)
    for heavy in np.argsort(-weights, kind="stable"):  # over areas
        if of_color[heavy] < 0:
            near = (ciede2000(labs, labs[heavy]) < _ALIKE) & (of_color < 0)
            of_color[near] = heavy
    total = np.bincount(of_color, weights=weights, minlength=len(colors))
    sums = [np.bincount(of_color, weights=weights * colors[:, k], minlength=len(colors)) for k in range(3)]
    result: Floats = np.stack(sums, axis=1)[of_color] / total[of_color][:, None]
    return result

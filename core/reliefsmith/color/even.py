"""Soft changes of color evened out: shadows become background, a shaded area one flat color or few bands.

The result is a picture as if drawn flat, its edge pixels too: an edge pixel is a mix of what lies on its two
sides, and changes by the same mix of their changes. So everything after finds flat colors that meet at edges.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..colorimetry import color_phrase
from ..findings import Note, note
from ..polygons.groups import joined
from ..polygons.runs import Pieces, find_pieces
from ..progress import Progress, Steps
from .beside import with_edges
from .capture import LEAST_RANGE, LEAST_SHARE, Capture, Picture, is_rippled, softening
from .fold import Part, borders, halves, one_for_alike, parts_of
from .groundshadow import mark_shadow, may_have_shadow
from .mixing import Bytes, Flags, Mixing
from .modes import MOST_LOOKS, Bins, Floats, Ints

__all__ = ["Evened", "evened_steps", "may_be_shaded"]

_MORE_LOSSY = 1.0  # levels of standard deviation that ripples add; without, two yellows became one
_LEAST_PX = 16  # of what is evened; flat from 8 to 32; with 1, compressed rays lost .0006


@dataclass(frozen=True, slots=True)
class Evened:
    """A picture made flat.

    Parameters
    ----------
    mixing : Mixing
    shadow : bool
        Whether it had a shadow.
    lossy : bool
        Whether it ripples where nothing was evened.
    notes : tuple of Note
        What was cut in two.
    """

    mixing: Mixing
    shadow: bool
    lossy: bool
    notes: tuple[Note, ...]


def evened_steps(picture: Picture, ranges: Bytes, background: Floats | None) -> Steps[Evened]:
    """Even out shadows on the background and shading within areas.

    Parameters
    ----------
    picture : Picture
    ranges : uint8 array of shape (h, w)
        Of `local_range`.
    background : float64 array of shape (3,) or None
        None where it is transparent or there is none.

    Returns
    -------
    Evened
        With the mixing as it was where there is nothing soft, the usual case.
    """
    yield Progress("looking for shading", 0.2)
    mixing, capture = picture.mixing, picture.capture
    as_it_was = Evened(mixing, shadow=False, lossy=capture.lossy, notes=())
    shaded = may_be_shaded(picture.bins, capture)
    shadowed = background is not None and may_have_shadow(picture, background)
    if shadowed:  # an app may have enlarged the picture before
        capture = replace(capture, scale=max(capture.scale, softening(mixing)))
        picture = replace(picture, capture=capture)
        shadowed = background is not None and may_have_shadow(picture, background)
    if not shaded and not shadowed:
        return as_it_was
    kinds = picture.calm.astype(np.uint8)
    # Enlarging spreads a step over so many pixels, each of them calmer.
    if capture.scale > 1.0:
        kinds[ranges > LEAST_RANGE / capture.scale] = 0
    shadow = background is not None and shadowed and mark_shadow(picture, kinds, background)
    if not shaded and not shadow:
        return as_it_was
    yield Progress("evening shading", 0.22)
    goals, notes = _goals(picture, find_pieces(kinds), background, shaded=shaded)
    yield Progress("evening edges beside shading", 0.25)
    if not goals:
        return as_it_was
    kept = np.logical_and.reduce([goal == plane for goal, plane in zip(goals, mixing.planes, strict=True)])
    rippled = capture.saved_lossy or (capture.lossy and is_rippled(ranges[kept]))
    flat = Mixing(with_edges(mixing, kinds, goals, lossy=rippled), mixing.opaque)
    return Evened(flat, shadow, rippled, notes)


def may_be_shaded(bins: Bins, capture: Capture) -> bool:
    """Return whether some of the commonest colors spread widely, as shading does, instead of standing alone.

    Flat colors that lie near to each other do so too; whether it is shading, their places tell.
    """
    least = capture.shaded + (_MORE_LOSSY if capture.lossy else 0.0)
    needed = LEAST_SHARE * bins.counts.sum()
    for heavy in np.argsort(-bins.counts, kind="stable")[:MOST_LOOKS]:  # over colors
        near = (np.abs(bins.means - bins.means[heavy]) < capture.alike).all(axis=1)
        weight = bins.counts[near]
        total = weight.sum()
        if total < needed:
            break
        offset = bins.means[near] - (bins.means[near] * weight[:, None]).sum(axis=0) / total
        if ((offset * offset * weight[:, None]).sum(axis=0) / total).max() > least * least:
            return True
    return False


def _goals(
    picture: Picture, pieces: Pieces, background: Floats | None, *, shaded: bool
) -> tuple[tuple[Bytes, ...], tuple[Note, ...]]:
    """Return the planes with every soft area in its flat colors, edges as they are; no planes without one."""
    planes = tuple(plane.copy() for plane in picture.mixing.planes)
    if background is not None:
        _fill(planes, pieces.pixels(pieces.labels == 2), background)
    if not shaded:
        return planes, ()
    spread = _spreads(picture.mixing, pieces)
    soft = np.flatnonzero(
        (pieces.labels == 1) & (spread > picture.capture.shaded) & (pieces.areas >= _LEAST_PX)
    )
    shadow = (pieces.labels == 2).any()
    if not shadow and pieces.areas[soft].sum() < LEAST_SHARE * pieces.areas.sum():
        return (), ()
    soft = soft[np.argsort(-pieces.areas[soft], kind="stable")]
    areas = pieces.pixels_of(soft) if len(soft) else []
    parts, edges = _folded(picture, _without_edges(picture, areas))
    colors = one_for_alike(parts, edges)
    for part, color in zip(parts, colors, strict=True):
        _fill(planes, part.pixels, color)
    return planes, _cut_note(parts, colors)


def _cut_note(parts: list[Part], colors: Floats) -> tuple[Note, ...]:
    """Say which shading was cut in two: the largest, and how many more."""
    cut = [k for k in range(1, len(parts)) if parts[k].group == parts[k - 1].group]
    if not cut:
        return ()
    most = max(cut, key=lambda k: len(parts[k].pixels) + len(parts[k - 1].pixels))
    one, other = (color_phrase(np.rint(colors[k])) for k in (most - 1, most))
    words = f"Shading is wider than one color can stand for, and cut in two at its middle: {one} and {other}"
    more = f"; {len(cut) - 1} more such areas" if len(cut) > 1 else ""
    return (note("shading-cut", f"{words}{more}."),)


def _without_edges(picture: Picture, areas: list[Ints]) -> list[Ints]:
    """Cut areas where their halves meet in an edge, however calm, as long as they do; return what is soft."""
    planes, settled = picture.mixing.planes[:3], []
    while areas:
        cut = []
        for own in areas:
            upper = halves(planes, own)
            cut += [own[~upper], own[upper]]
        pairs, edge = borders(planes, cut, picture.capture.bled)
        own_edges = pairs[edge & (pairs[:, 0] // 2 == pairs[:, 1] // 2)]
        is_cut = np.isin(np.arange(len(areas)), own_edges[:, 0] // 2)
        settled += [areas[k] for k in np.flatnonzero(~is_cut)]
        pieces = [cut[2 * k + side] for k in np.flatnonzero(is_cut) for side in (0, 1)]
        areas = [half for half in pieces if _is_soft(picture, half)]
    return settled


def _is_soft(picture: Picture, pixels: Ints) -> bool:
    spread = max(plane.ravel()[pixels].std() for plane in picture.mixing.planes[:3])
    return len(pixels) >= _LEAST_PX and bool(spread > picture.capture.shaded)


def _folded(picture: Picture, areas: list[Ints]) -> tuple[list[Part], Flags]:
    """Join areas that pass into each other, and tell which of the joined ones meet in an edge."""
    planes = picture.mixing.planes[:3]
    pairs, edge = borders(planes, areas, picture.capture.bled)
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


def _spreads(mixing: Mixing, pieces: Pieces) -> Floats:
    """Return the greatest standard deviation (m,) of each piece's channels."""
    count = len(pieces.areas)
    spread = np.zeros(count)
    for plane in mixing.planes[:3]:
        flat = plane.ravel()
        by_run = np.add.reduceat(flat, pieces.starts, dtype=np.int64)
        squares = np.add.reduceat(flat.astype(np.uint16) ** 2, pieces.starts, dtype=np.int64)
        mean = np.bincount(pieces.of_run, weights=by_run, minlength=count) / pieces.areas
        square = np.bincount(pieces.of_run, weights=squares, minlength=count) / pieces.areas
        np.maximum(spread, np.sqrt(np.maximum(square - mean * mean, 0.0)), out=spread)
    return spread
